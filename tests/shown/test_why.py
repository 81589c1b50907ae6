"""`beadline why` and `beadline compare`: what people and programs get, and durations as people write them."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

import viewer
from viewer.errors import BeadlineError
from viewer.shown.console.command_line import run
from viewer.shown.durations import seconds_of

KNOB = "sample_programs/radiator_knob_arcs.gcode"
TRAY = "sample_programs/tap_washer_tray.gcode"


def printed(capsys: pytest.CaptureFixture[str], *argv: str, status: int = 0) -> str:
    assert run(argv, lambda *_: 0) == status
    return capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("3h", 10_800), ("2h45m", 9900), ("2 h 45 min", 9900), ("1.5h", 5400), ("95m", 5700), ("2:45", 9900),
        ("1:02:03", 3723), ("4000 s", 4000), ("1 day 2 hours", 93_600), ("1,5 h", 5400),
    ],
)  # fmt: skip
def test_durations(text: str, seconds: float) -> None:
    assert seconds_of(text) == seconds


@pytest.mark.parametrize("text", ["", "soon", "3", "3h and a bit", "0h", "-3h", "1:75"])
def test_what_is_no_duration(text: str) -> None:
    with pytest.raises(BeadlineError, match="is no duration"):
        seconds_of(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1h99m", "'1h99m' has 99m behind hours; write at most 59 minutes there."),
        ("1 h 60 min", "at most 59 minutes"), ("2m75s", "at most 59 seconds"), ("30m2h", "has 2h behind minutes"),
    ],
)  # fmt: skip
def test_a_part_of_a_duration_that_fills_the_one_before_it(text: str, said: str) -> None:
    with pytest.raises(BeadlineError) as problem:
        seconds_of(text)
    assert said in str(problem.value)


def test_why_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, "why", KNOB, "--expected", "20m", "--took", "1h")
    assert "1 h instead of 20 min" in text
    for group in ("From expected to actual", "What would help", "Costliest places", "By limiter"):
        assert group in text
    assert "not explained" in text and "it took" in text
    assert "its manual has the last word" in text


def test_why_says_a_bad_duration(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["why", KNOB, "--took", "long"], lambda *_: 0) == 2
    assert "is no duration" in capsys.readouterr().err


def test_why_as_json_is_the_python_object(capsys: pytest.CaptureFixture[str]) -> None:
    plain = json.loads(printed(capsys, "why", KNOB, "--json"))
    program = viewer.open_program(KNOB)
    total = program.timing.total_s
    assert plain["total_s"] == total
    assert sum(one["seconds"] for one in plain["ledger"]) == pytest.approx(total, abs=1e-6)
    assert sum(one["seconds"] for one in plain["places"]) == pytest.approx(program.timing.moving_s, abs=1e-6)
    gains = {one["lever"]: one["tries"] for one in plain["levers"]}
    for one in gains["print-acceleration"][:2]:
        timing = viewer.replan(program, {"print-acceleration": one["factor"]})
        assert one["saved_s"] == pytest.approx(total - timing.total_s, abs=1e-9)
    assert gains["print-acceleration"][2]["value"] == [None, None]  # without limit: no number in JSON
    assert all(one["cost"] for one in plain["levers"])


def test_compare_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, "compare", KNOB, TRAY)
    assert "B takes" in text and "longer" in text and "16 fewer layers" in text
    for group in ("Figures", "Time by cause", "Time by role", "Layers, matched by height"):
        assert group in text
    same = printed(capsys, "compare", KNOB, KNOB)
    assert "Both take the same time." in same


def test_compare_under_two_cards_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    plain = json.loads(printed(capsys, "compare", KNOB, "--printer-b", "wren", "--json"))
    assert (plain["a"]["printer"], plain["b"]["printer"]) == ("Heron", "Wren")
    total = next(pair for pair in plain["figures"] if pair["name"] == "time in all")
    assert sum(pair["more"] for pair in plain["by_cause"]) == pytest.approx(total["more"], abs=1e-6)
    assert len(plain["layers"]) == len(viewer.open_program(KNOB).layers)


@pytest.mark.parametrize("argv", [(KNOB,), (KNOB, KNOB, KNOB), (KNOB, TRAY, "--printer-b", "wren")])
def test_compare_wants_two(argv: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", *argv], lambda *_: 0) == 2
    assert "Name two programs" in capsys.readouterr().err


def test_a_comparison_speaks_as_the_figures_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = [tmp_path / "a.gcode", tmp_path / "b.gcode"]
    for path, layers in zip(paths, (1, 3), strict=True):
        body = "".join(f"G1 Z{0.2 * k:.1f} F600\nG1 X90 E2 F1200\nG1 X10 E2\n" for k in range(1, layers + 1))
        path.write_text(
            "M83\nG28\nG1 X10 Y10 F6000\n" + body + f"; machine_max_acceleration_e = {1000 * layers}\n"
            f"; filament used [cm3] = {layers}\n; layer_height = 0.{layers}\n"
            f"; bed_shape = 0x0,{layers}00x0,{layers}00x200,0x200\n"
            f"; nozzle_diameter = {'0.4,0.4' if layers == 1 else '0.6'}\n; temperature = {200 + layers}\n"
            f"; filament_diameter = {'1.75,1.75' if layers == 1 else '1.75'}\n"
        )
    text = printed(capsys, "compare", *map(str, paths))
    rows = dict(
        re.split(r"  +", line.strip(), maxsplit=1) for line in text.splitlines() if line.startswith("  ")
    )
    assert rows["acceleration of E"] == "1000 mm/s²; 3000 mm/s²" and rows["layer height"] == "0.1 mm; 0.3 mm"
    assert rows["filament volume"] == "1 cm³; 3 cm³; + 2 cm³"
    assert rows["nozzle diameter"] == "0.4 mm; 0.6 mm" and rows["nozzle temperature"] == "201 °C; 203 °C"
    assert rows["plate size"] == "100 x 200 mm; 300 x 200 mm" and "filament diameter" not in rows
    assert rows["homing and levelling"].endswith("; the same")
    assert re.fullmatch(r"\d\.\d\d EUR; \d\.\d\d EUR; \+ (below )?\d\.\d\d EUR", rows["cost"])
    assert rows["at 0.6 mm"].startswith("none; ") and "_" not in text.replace(str(tmp_path), "")


def test_a_program_that_does_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "nothing.gcode"
    path.write_text("M104 S0\n", encoding="ascii")
    assert "computed" in printed(capsys, "why", str(path))
    assert "Both take the same time." in printed(capsys, "compare", str(path), str(path))


@pytest.mark.skipif(os.name == "nt", reason="no such names there")
def test_a_line_end_in_a_name_does_not_break_the_head(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "a\nb.gcode"
    path.write_text("M83\nG28\nG1 X10 Y10 Z0.2 F6000\nG1 X90 E2 F1200\n")
    name = str(tmp_path / "a\\nb.gcode")
    assert printed(capsys, "why", str(path)).startswith(f"{name} on ")
    text = printed(capsys, "compare", str(path), str(path))
    assert text.startswith(f"A: {name} on ") and f"\nB: {name} on " in text
