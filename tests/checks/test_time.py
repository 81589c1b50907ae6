"""Time: layers that get no time to set, claims, and whether somebody is there."""

from __future__ import annotations

import math
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, findings, line_with, not_checked, opened, whole
from tests.programs import box, loop, square
from viewer.checks.evidence import in_words
from viewer.checks.finding import Severity
from viewer.checks.run import run_checks

HOURS = {"workshop": {"hours": {"opens": "09:00", "closes": "17:00"}}}


def layered(sizes: list[float], between: str = "") -> str:
    text, e = START, 0.0
    for k, size in enumerate(sizes, 1):
        piece, e = loop(square(size), 0.2 * k, e)
        text += piece + between
    return text + END


def test_quick_layers(tmp_path: Path) -> None:
    # 4 x 100 mm at 50 mm/s take 8 s, 4 x 10 mm take less than 1.5 s with braking; the card says 5 s
    text = layered([100.0, 100.0, 10.0, 9.0, 10.0, 100.0])
    (found,) = findings(opened(tmp_path, text), "quick-layers")
    assert found.severity is Severity.LOOK
    assert found.layer == 4
    assert found.lines == (line_with(text, "X59.0000 Y50.0000 E"),)
    assert found.place_mm == pytest.approx((54.5, 54.5, 0.8), abs=0.01)
    assert found.limit == 5.0
    assert found.value is not None
    assert 36 / 50 < found.value < 2.0
    assert "layers 3 to 5" in found.sentence


def test_layers_slow_enough_are_no_matter(tmp_path: Path) -> None:
    assert not findings(opened(tmp_path, layered([100.0] * 4)), "quick-layers")
    assert not findings(opened(tmp_path, layered([10.0] * 4, "G4 S6\n")), "quick-layers")  # they wait
    calm = {"filament": {"layer_s": 0.5}}
    assert not findings(opened(tmp_path, layered([10.0] * 4), calm), "quick-layers")
    rule = {"workshop": {"checks": {"quick-layers": {"limit": 0.5}}}}
    assert not findings(opened(tmp_path, layered([10.0] * 4), rule), "quick-layers")


def test_one_quick_layer_is_a_note_and_a_pause_gives_no_time_to_set(tmp_path: Path) -> None:
    text = layered([100.0, 10.0, 100.0])
    assert findings(opened(tmp_path, text), "quick-layers")[0].severity is Severity.NOTE
    paused = layered([10.0] * 5, "M0\n")
    assert findings(opened(tmp_path, paused), "quick-layers")[0].severity is Severity.LOOK


def test_without_a_setting_time_layers_are_not_checked(tmp_path: Path) -> None:
    unknown = {"filament": {"layer_s": None}}
    assert len(not_checked(opened(tmp_path, whole(3), unknown), "quick-layers")) == 1


DRAWN = 5 * 80 * 0.03  # mm of filament in whole(5)


@pytest.mark.parametrize(
    ("claim", "fires"),
    [
        (f"{DRAWN:.2f} mm", False), (f"{DRAWN * 1.04:.2f} mm", False), (f"{DRAWN * 1.06:.2f} mm", True),
        (f"{DRAWN * 0.5:.2f} mm", True), (f"{DRAWN / 1000:.5f} m", False),
        (f"{DRAWN * math.pi * 1.75**2 / 4:.2f} mm3", False), (f"{DRAWN * math.pi * 1.75**2 / 2:.2f} mm3", True),
    ],
)  # fmt: skip
def test_filament_claims(tmp_path: Path, claim: str, fires: bool) -> None:
    text = whole(5) + f"; filament needed: {claim}\n"
    found = findings(opened(tmp_path, text), "claims-differ")
    assert len(found) == int(fires)
    if fires:
        assert found[0].lines == (line_with(text, "; filament needed"),)
        assert found[0].severity is Severity.LOOK


def test_only_claims_that_were_compared_are_said_to_agree(tmp_path: Path) -> None:
    text = whole(5) + f"; filament needed: {DRAWN:.2f} mm\n; filament needed: {DRAWN * 7.0:.2f} mm3\n"
    report = run_checks(opened(tmp_path, text))
    (said,) = [one.sentence for one in report.passed if one.slug == "claims-differ"]
    assert "own filament agrees" in said and "(1 claim; filament to 5 %)" in said
    assert "Not compared: volume or mass (1 claim, 2.9" in said


def test_the_card_moves_the_share_of_claims(tmp_path: Path) -> None:
    text = whole(5) + f"; filament needed: {DRAWN * 1.2:.2f} mm\n"
    (found,) = findings(opened(tmp_path, text), "claims-differ")
    assert found.value == pytest.approx(20.0, abs=0.1)
    rule = {"workshop": {"checks": {"claims-differ": {"limit": 25.0}}}}
    assert not findings(opened(tmp_path, text, rule), "claims-differ")


def test_nothing_is_rounded_to_all_of_it(tmp_path: Path) -> None:
    text = whole(5) + f"; filament needed: {DRAWN * 0.0003:.6f} mm\n"
    (found,) = findings(opened(tmp_path, text), "claims-differ")
    assert "claims over 99.9 % less filament" in found.sentence


def test_a_value_beside_its_limit_never_reads_like_it(tmp_path: Path) -> None:
    text = layered([100.0, 10.0, 100.0])
    (found,) = findings(opened(tmp_path, text), "quick-layers")
    assert found.value is not None
    rule = {"filament": {"layer_s": found.value + 1e-4}}
    (near,) = findings(opened(tmp_path, text, rule), "quick-layers")
    takes, limit = re.findall(r"([\d.]+) s", near.sentence)
    assert float(takes) < float(limit)


def test_length_and_volume_tell_the_diameter(tmp_path: Path) -> None:
    # a volume of 2.85 mm filament for the same length: d = sqrt(4 V/(pi L))
    volume = DRAWN * math.pi * 2.85**2 / 4
    text = whole(5) + f"; filament used = {DRAWN:.1f}mm\n; filament used = {volume:.1f} mm3\n"
    program = opened(tmp_path, text)
    assert not findings(program, "claims-differ")
    (found,) = findings(program, "nozzle-mismatch")
    assert found.value == pytest.approx(2.85, abs=0.02)
    assert found.limit == 1.75
    odd = text.replace(f"{volume:.1f} mm3", f"{DRAWN * math.pi * 2.2**2 / 4:.1f} mm3")
    (found,) = findings(opened(tmp_path, odd), "claims-differ")
    assert found.value == pytest.approx(2.2, abs=0.02)
    fits = f"; filament used = {DRAWN:.1f}mm\n; filament used = {DRAWN * math.pi * 1.75**2 / 4:.1f} mm3\n"
    assert not findings(opened(tmp_path, whole(5) + fits), "claims-differ")


def test_time_claims_leave_room_for_other_machines(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(50))
    total, moving = program.timing.total_s, program.timing.moving_s
    assert moving < total
    for seconds, fires in (
        (total, False),
        (moving, False),
        (1.25 * total, False),
        (0.6 * moving, True),
        (2 * total, True),
    ):
        text = f";TIME:{seconds:.0f}\n" + whole(50)
        found = findings(opened(tmp_path, text), "claims-differ")
        assert [f.severity for f in found] == ([Severity.NOTE] if fires else [])


def test_a_time_that_agrees_says_with_which_of_ours(tmp_path: Path) -> None:
    """A time without waits agrees and still is far below the time in all: both are told."""
    program = opened(tmp_path, heated := "M109 S210\n" + whole(50))
    total, moving = in_words(program.timing.total_s), in_words(program.timing.moving_s)
    report = run_checks(opened(tmp_path, f";TIME:{program.timing.moving_s:.0f}\n{heated}"))
    (said,) = [one.sentence for one in report.passed if one.slug == "claims-differ"]
    assert f"(1 claim; time to 30 % of the {moving} of the moves alone or the {total} with waits)" in said
    assert total != moving


def test_without_claims_nothing_is_compared(tmp_path: Path) -> None:
    assert len(not_checked(opened(tmp_path, whole(2)), "claims-differ")) == 1


def at(clock: str, day: int = 6) -> datetime:
    return datetime.fromisoformat(f"2024-05-{day:02d}T{clock}:00")


def test_after_closing(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(40, end="G4 S1800\n" + END), HOURS)
    total = program.timing.total_s
    assert 1800 < total < 4000
    (found,) = findings(program, "after-closing", at("16:45"))
    over = (at("16:45") + timedelta(seconds=total) - at("17:00")).total_seconds() / 60
    assert found.value == pytest.approx(over, abs=0.01)
    assert found.severity is Severity.LOOK
    assert "fires" in found.remedy
    assert not findings(program, "after-closing", at("12:00"))
    just = at("17:00") - timedelta(seconds=total + 1)
    assert not findings(program, "after-closing", just)
    assert len(findings(program, "after-closing", just + timedelta(seconds=2))) == 1


def test_after_closing_follows_the_card(tmp_path: Path) -> None:
    rule = {"workshop": {**HOURS["workshop"], "checks": {"after-closing": {"limit": 120.0}}}}
    program = opened(tmp_path, whole(40, end="G4 S1800\n" + END), rule)
    assert not findings(program, "after-closing", at("16:45"))
    off = {"workshop": {**HOURS["workshop"], "checks": {"after-closing": {"off": True}}}}
    assert not findings(opened(tmp_path, whole(3), off), "after-closing", at("22:00"))


def test_begun_outside_the_hours(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, whole(3), HOURS), "after-closing", at("08:00"))
    assert "outside the opening hours" in found.sentence


def test_hours_that_pass_midnight(tmp_path: Path) -> None:
    late = {"workshop": {"hours": {"opens": "18:00", "closes": "02:00"}}}
    program = opened(tmp_path, whole(40, end="G4 S1800\n" + END), late)
    assert not findings(program, "after-closing", at("23:50"))
    (found,) = findings(program, "after-closing", at("01:50", 7))
    assert "after closing (02:00)" in found.sentence


def test_a_pause_when_nobody_is_there(tmp_path: Path) -> None:
    pieces = box(3)[0]
    text = START + "G4 S7200\n" + pieces.replace("Z0.6000", "Z0.6000\nM0") + END
    program = opened(tmp_path, text, HOURS)
    found = [f for f in findings(program, "after-closing", at("15:30")) if "pauses" in f.sentence]
    assert len(found) == 1
    assert found[0].lines == (line_with(text, "M0"),)
    assert found[0].layer == 3
    assert not findings(program, "after-closing", at("10:00"))


def test_without_hours_or_start_it_is_not_checked(tmp_path: Path) -> None:
    assert "start" in not_checked(opened(tmp_path, whole(2), HOURS), "after-closing")[0]
    none = {"workshop": {"hours": None}}
    assert "opening hours" in not_checked(opened(tmp_path, whole(2), none), "after-closing", at("10:00"))[0]


def test_an_end_before_closing_that_leaves_out_the_machines_own_beginning_is_no_promise(
    tmp_path: Path,
) -> None:
    text = whole(3, "PRINT_START NOZZLE=210\n" + START)
    program = opened(tmp_path, text, HOURS)
    assert not findings(program, "after-closing", at("12:00"))
    (skipped,) = not_checked(program, "after-closing", at("12:00"))
    assert "how long PRINT_START (line 1) heats and homes is not known" in skipped
    assert len(findings(program, "after-closing", at("16:59"))) == 1
    assert not not_checked(opened(tmp_path, whole(3), HOURS), "after-closing", at("12:00"))


def test_as_many_moves_are_told_as_in_the_figures(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3).replace("G28\n", "G28\nG28 X\n", 1) + "G2 X60 Y60 I5 J5 E1\n")
    (said,) = [one.sentence for one in run_checks(program).passed if one.slug == "no-beads"]
    moved = program.figures.moves
    assert moved["total"] != len(program.moves)
    assert said == f"{moved['beads']:,} of {moved['total']:,} moves lay filament."
