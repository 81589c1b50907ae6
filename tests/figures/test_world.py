"""Figures against the world outside: handbook densities, trade values, and properties that any truth must have."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.programs import START, box, loop, square
from viewer import open_program, with_cards
from viewer.cards import load_filament
from viewer.jit import compiler_is_off
from viewer.units import filament_area_mm2

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="compiler is off: whole programs take too long")


def written(folder: Path, text: str) -> Path:
    path = folder / "program.gcode"
    path.write_text(text)
    return path


def test_a_kilogram_of_pla_is_about_335_m() -> None:
    """Follows from the density, 1.24 g/cm3 (handbook value for PLA), and the diameter of 1.75 mm."""
    density = load_filament("pla").density_g_cm3
    metres = 1000.0 / density * 1000.0 / filament_area_mm2(1.75) / 1000.0
    assert metres == pytest.approx(335.0, rel=0.005)


def test_17_g_at_25_a_kilogram_cost_about_043(tmp_path: Path) -> None:
    """Common practice, no source."""
    length = 17.0 / 1.24 * 1000.0 / filament_area_mm2(1.75)
    text = START + f"G1 X10 Z0.2 F6000\nG1 X200 E{length:.5f} F600\n"
    import msgspec

    pla = msgspec.structs.replace(
        load_filament("pla"), price_per_kg=25.0, density_g_cm3=1.24, diameter_mm=1.75
    )
    figures = open_program(written(tmp_path, text), filament=pla).figures
    assert figures.filament.mass_g == pytest.approx(17.0, rel=1e-4)
    assert figures.filament.material_cost == pytest.approx(0.425, rel=1e-3)


def test_totals_are_sums_of_the_layers(samples: list[Path]) -> None:
    for path in samples:
        program = open_program(path)
        figures, table = program.figures, program.totals.layers
        assert math.fsum(table.drawn_mm) == pytest.approx(figures.filament.drawn_mm, rel=1e-9)
        assert math.fsum(program.totals.drawn_by_role_mm.values()) == pytest.approx(
            figures.filament.drawn_mm, rel=1e-9
        )
        assert math.fsum(table.bead_mm) == pytest.approx(figures.path["bead_mm"], rel=1e-12)
        assert float(table.role_mm.sum()) == pytest.approx(figures.path["bead_mm"], rel=1e-9)
        assert math.fsum(figures.time.ledger_s.values()) == pytest.approx(figures.time.total_s, rel=1e-6)
        assert math.fsum(figures.time.by_role_s.values()) == pytest.approx(figures.time.total_s, rel=1e-6)
        assert float(program.timing.ledger.by_layer.sum()) == pytest.approx(figures.time.total_s, rel=1e-6)
        beads = program.moves.kind == 1
        assert float(program.moves.length_mm[beads].astype(float).sum()) == pytest.approx(
            figures.path["bead_mm"], rel=1e-9
        )
        assert (
            sum(figures.moves[k] for k in ("beads", "travels", "wipes", "retracts", "primes"))
            == figures.moves["total"]
        )


def test_drawn_equals_the_plain_running_maximum(samples: list[Path]) -> None:
    """Slow twin of the tabulating kernel's filament: the running sum of each tool, its record highs added up."""
    for path in samples[:4]:
        program = open_program(path)
        fed = program.moves.fed_mm.astype(float)
        tools = program.settings.column("tool")[program.settings.of_move]
        drawn = 0.0
        for tool in np.unique(tools):
            run = np.cumsum(np.where(tools == tool, fed, 0.0))
            drawn += max(0.0, float(np.maximum.accumulate(run)[-1]))
        assert program.figures.filament.drawn_mm == pytest.approx(drawn, rel=1e-9)


def test_the_samples_claims_hold(samples: list[Path]) -> None:
    """The samples state their filament; within 0.5 % it is what was read."""
    fitted = 0
    for path in samples:
        for claim in open_program(path).figures.claims:
            if claim.quantity == "filament_mm":
                assert claim.basis != "none", path
                assert claim.ratio == pytest.approx(1.0, abs=0.005), path
                fitted += 1
    assert fitted >= 5


_SIDES = st.lists(st.tuples(st.floats(10, 180), st.floats(10, 180)), min_size=2, max_size=8)


@given(points=_SIDES, per_mm=st.floats(0.01, 0.08))
def test_inches_give_the_same_figures(
    tmp_path_factory: pytest.TempPathFactory, points: list[tuple[float, float]], per_mm: float
) -> None:
    folder = tmp_path_factory.mktemp("inches")
    body, _ = loop(points, 0.2, 0.0, per_mm)
    metric = open_program(written(folder, START + body + "G28\n")).figures
    import re

    def inch(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) / 25.4:.9f}"

    text = re.sub(r"([XYZEF])(-?[0-9.]+)", inch, "G90\nM82\n" + "G92 E0\nG1 F3000\n" + body)
    (folder / "other.gcode").write_text("G20\nG28\n" + text + "G28\n")
    inches = open_program(folder / "other.gcode").figures
    assert inches.path["bead_mm"] == pytest.approx(metric.path["bead_mm"], rel=1e-4)
    assert inches.filament.drawn_mm == pytest.approx(metric.filament.drawn_mm, rel=1e-4)
    assert inches.time.moving_s == pytest.approx(metric.time.moving_s, rel=1e-3)
    assert inches.time.nominal_s == pytest.approx(metric.time.nominal_s, rel=1e-4)


@given(points=_SIDES, per_mm=st.floats(0.01, 0.08))
def test_relative_filament_gives_the_same_figures(
    tmp_path_factory: pytest.TempPathFactory, points: list[tuple[float, float]], per_mm: float
) -> None:
    folder = tmp_path_factory.mktemp("relative")
    body, _ = loop(points, 0.2, 0.0, per_mm)
    absolute = open_program(written(folder, START + body)).figures
    at = 0.0
    lines = []
    for line in body.splitlines():
        words = line.split()
        if words[-1].startswith("E"):
            e = float(words[-1][1:])
            words[-1] = f"E{e - at:.9f}"
            at = e
        lines.append(" ".join(words))
    (folder / "other.gcode").write_text(START.replace("M82", "M83") + "\n".join(lines) + "\n")
    relative = open_program(folder / "other.gcode").figures
    assert relative.filament.drawn_mm == pytest.approx(absolute.filament.drawn_mm, rel=1e-5, abs=1e-5)
    assert relative.time.moving_s == pytest.approx(absolute.time.moving_s, rel=1e-4)
    assert relative.path == pytest.approx(absolute.path)


def test_another_card_gives_the_same_as_opening_with_it(samples: list[Path]) -> None:
    from viewer.cards import load_printer

    for name in ("wren", "dipper"):
        card = load_printer(name)
        changed = with_cards(open_program(samples[0]), printer=card, filament=load_filament("petg"))
        afresh = open_program(samples[0], printer=card, filament=load_filament("petg"))
        assert changed.figures == afresh.figures


def test_coverage_of_a_hatched_square(tmp_path: Path) -> None:
    """Lines of 0.4 mm laid 0.5 mm apart cover 80 % (closed form)."""
    t, w = 0.2, 0.4
    area = (w - t) * t + math.pi * t * t / 4.0
    per_mm = area / filament_area_mm2(1.75)
    text, e = START, 0.0
    for k in range(80):
        y = 50 + 0.5 * k
        ends = [(50.0, y), (90.0, y)] if k % 2 == 0 else [(90.0, y), (50.0, y)]
        piece, e = loop(ends, t, e, per_mm)
        text += piece
    first = open_program(written(tmp_path, text)).figures.first_layer
    assert first.coverage == pytest.approx(0.8, abs=0.02)
    assert first.contact_mm2 == pytest.approx(80 * (40 * w + math.pi * w * w / 4), rel=0.01)


def test_extent_leaves_purge_out(tmp_path: Path) -> None:
    purge, e = loop([(5, 5), (105, 5)], 0.3, 0.0, 0.1)
    figures = open_program(written(tmp_path, START + purge + box(3, e=e)[0])).figures
    assert figures.extent is not None
    assert figures.extent_all is not None
    assert figures.extent.x == pytest.approx((50.0, 70.0), abs=1e-4)
    assert figures.extent_all.x == pytest.approx((5.0, 105.0), abs=1e-4)


def test_square_of_known_time(tmp_path: Path) -> None:
    """A straight bead from rest to rest: T = d/v + v/a (K. Lynch, F. Park, Modern Robotics, 2017, 9.2.2.2)."""
    import msgspec

    from viewer.cards import Axes, Corner, load_printer

    wide = Axes(x=1e4, y=1e4, z=1e4, e=1e4)
    still = Axes(x=1e-6, y=1e-6, z=1e-6, e=1e-6)
    card = msgspec.structs.replace(
        load_printer("heron"), max_speed_mm_s=wide, max_acceleration_mm_s2=Axes(x=1e6, y=1e6, z=1e6, e=1e6),
        print_acceleration_mm_s2=500.0, corner=Corner(rule="jerk", jerk_mm_s=still), min_segment_time_s=0.0,
        planner_buffer_moves=0,
    )  # fmt: skip
    path = written(tmp_path, "M83\nG1 X100 E3 F3000\n" + "".join(f"; {square(1)}\n" for _ in range(1)))
    figures = open_program(path, printer=card).figures
    assert figures.time.moving_s == pytest.approx(100.0 / 50.0 + 50.0 / 500.0, rel=1e-4)
