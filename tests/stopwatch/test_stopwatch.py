"""The stopwatch test: a program that stays in its room and asks for nothing beyond the card, and its times inverted."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.stopwatch.machines import coverage, drawn, timed
from viewer import open_program
from viewer.cards import PrinterCard, load_printer
from viewer.cards.printer import Axes, Corner, Plate, Reach
from viewer.checks.finding import Severity
from viewer.checks.questions import Question
from viewer.checks.run import run_checks
from viewer.errors import BeadlineError
from viewer.jit import compiler_is_off
from viewer.read.moves import PLACE, TRAVEL
from viewer.stopwatch import MotionTest, blocks, evaluate, make_test, program_lines
from viewer.stopwatch.heat import Heater
from viewer.stopwatch.program_text import caution_of
from viewer.stopwatch.replan import Replan
from viewer.stopwatch.values import machine_with, value_of
from viewer.verdict import Word, verdict_of

HERON = load_printer("heron")
pytestmark = pytest.mark.skipif(compiler_is_off(), reason="compiler is off: whole programs take too long")


def tiny() -> PrinterCard:
    return replace(
        HERON, name="Tiny", plate=Plate(width_mm=40.0, depth_mm=30.0, left_mm=-20.0), height_mm=35.0
    )


def narrow() -> PrinterCard:
    """A printer whose nozzle does not reach all of its plate, with odd speeds."""
    return replace(
        HERON, name="Narrow", reach=Reach(left_mm=20.0, right_mm=150.5, front_mm=-5.0, back_mm=90.0, top_mm=120.0),
        max_speed_mm_s=Axes(x=133.37, y=71.01, z=3.3, e=20.0),
    )  # fmt: skip


def slow() -> PrinterCard:
    """A large printer that accelerates weakly and moves slowly."""
    return replace(
        HERON, name="Slow", plate=Plate(width_mm=900.0, depth_mm=120.0), travel_acceleration_mm_s2=4.0,
        max_speed_mm_s=Axes(x=15.0, y=40.0, z=0.5, e=20.0),
    )  # fmt: skip


CARDS = {
    "heron": lambda: HERON,
    "wren": lambda: load_printer("wren"),
    "dipper": lambda: load_printer("dipper"),
    "tiny": tiny,
    "narrow": narrow,
    "slow": slow,
}


@cache
def motion_test(name: str) -> MotionTest:
    return make_test(CARDS[name]())


def words_of(line: str) -> dict[str, float]:
    """Return the words of a line, comments left out: read here by other code than the program's own."""
    return {
        letter: float(value) for letter, value in re.findall(r"([A-Z])(-?[\d.]+)", line.partition(";")[0])
    }


@pytest.mark.parametrize("name", CARDS)
def test_every_move_stays_in_the_room_and_within_the_speeds(name: str) -> None:
    card = CARDS[name]()
    place, feed = {"X": math.nan, "Y": math.nan, "Z": math.nan}, math.nan
    left, right, front, back, top = bounds(card)
    for line in program_lines(motion_test(name)):
        words = words_of(line)
        assert not {"E", "P"} & words.keys(), line
        if line.startswith(("M104", "M140")):
            assert words["S"] == 0.0
        if words.get("G") != 1.0:
            continue
        before, feed = dict(place), words.get("F", feed)
        place.update({axis: words[axis] for axis in "XYZ" if axis in words})
        moved = {axis: abs(place[axis] - before[axis]) for axis in "XYZ" if place[axis] != before[axis]}
        if any(math.isnan(way) for way in moved.values()):
            assert feed / 60.0 <= min(getattr(card.max_speed_mm_s, axis.lower()) for axis in moved)
            continue
        whole = math.hypot(*moved.values())
        assert whole > 0.0
        for axis, way in moved.items():
            assert feed / 60.0 * way / whole <= getattr(card.max_speed_mm_s, axis.lower()) + 1e-9
        assert left <= place["X"] <= right and front <= place["Y"] <= back
        assert 0.5 * top <= place["Z"] <= top
        if card.plate.shape == "circle":
            assert math.hypot(place["X"] - card.plate.left_mm, place["Y"] - card.plate.front_mm) <= right


def bounds(card: PrinterCard) -> tuple[float, float, float, float, float]:
    """Return the sides of plate and reach, and the top."""
    plate, reach = card.plate, card.reach
    if plate.shape == "circle":
        assert plate.diameter_mm is not None and card.height_mm is not None
        half = 0.5 * plate.diameter_mm
        return -half, half, -half, half, card.height_mm
    assert plate.width_mm is not None and plate.depth_mm is not None and card.height_mm is not None
    sides = (plate.left_mm, plate.left_mm + plate.width_mm, plate.front_mm, plate.front_mm + plate.depth_mm)
    known = (reach.left_mm, reach.right_mm, reach.front_mm, reach.back_mm)
    left, right, front, back = (
        side if one is None else narrower(side, one)
        for side, one, narrower in zip(sides, known, (max, min, max, min), strict=True)
    )
    return left, right, front, back, min(card.height_mm, reach.top_mm or math.inf)


def test_the_caution_comes_before_the_first_command() -> None:
    lines = program_lines(motion_test("heron"))
    first = next(k for k, line in enumerate(lines) if not line.startswith(";"))
    head = "\n".join(lines[:first])
    assert head.index("CAUTION") < head.index("Block 1")
    assert all(sentence in head for sentence in caution_of(motion_test("heron")))


@pytest.mark.parametrize("heat", [None, "nozzle", "plate"])
def test_the_program_is_whole_draws_nothing_and_takes_what_was_said(
    tmp_path: Path, heat: Heater | None
) -> None:
    test = make_test(HERON, heat)
    path = tmp_path / "test.gcode"
    text = "\n".join(program_lines(test)) + "\n"
    path.write_text(text)
    program = open_program(path, HERON)
    report = run_checks(program)
    assert verdict_of(program, report).of(Question.WHOLE).word is Word.YES
    assert report.count(Severity.STOP) == report.count(Severity.LOOK) == 0
    assert set(np.unique(program.moves.kind)) <= {TRAVEL, PLACE} and program.figures.filament.drawn_mm == 0.0
    assert program.figures.time.ledger_s["heating"] == pytest.approx(
        test.heat.expected_s if test.heat else 0.0
    )
    dwells = program.events.move[program.events.rows("G", 4)][: len(test.blocks) + 1]
    elapsed = np.concatenate([[0.0], np.cumsum(program.timing.time_s, dtype=np.float64)])
    assert np.diff(elapsed[dwells])[: len(test.blocks)] == pytest.approx(
        test.expected_s[: len(test.blocks)], abs=1e-3
    )


def test_a_part_of_the_program_is_not_called_whole(tmp_path: Path) -> None:
    lines = program_lines(motion_test("heron"))
    for kept in ([*lines[:2000], *lines[2010:]], lines[:1500], [*lines[:-1], "M104 S210", lines[-1]]):
        path = tmp_path / "test.gcode"
        path.write_text("\n".join(kept) + "\n")
        program = open_program(path, HERON)
        assert verdict_of(program).of(Question.WHOLE).word is Word.NO


def test_blocks_take_long_enough_for_a_hand_and_each_hangs_on_its_value() -> None:
    for name in CARDS:
        test = motion_test(name)
        replan, base = Replan.of(test.blocks), np.array(test.expected_s)
        assert np.all((base > 15.0) & (base < 80.0)), name
        for number, block in enumerate(test.blocks):
            slower = machine_with(test.card, {block.value: 0.9 * value_of(test.card, block.value)})
            change = replan.seconds(slower) - base
            own = [k for k, one in enumerate(test.blocks) if one.value == block.value]
            assert change[number] > 0.9 or (block.value == "corner" and change[own].max() > 0.4), (
                name,
                block,
            )


@pytest.mark.parametrize("name", ["heron", "dipper"])
def test_times_without_error_give_the_values_back(name: str) -> None:
    test, chance = motion_test(name), np.random.default_rng(3)
    truth = drawn(test, chance)
    found = evaluate(test, timed(test, truth, chance, 0.0))
    for one in found.values:
        commanded = [block.speed_mm_s for block in test.blocks if block.value == one.name]
        if one.name.startswith("speed") and truth[one.name] >= commanded[0]:
            assert one.high is None and one.value == pytest.approx(one.card, rel=5e-3)
        else:
            assert one.value == pytest.approx(truth[one.name], rel=5e-3)
            assert one.low is not None and one.low < truth[one.name]
    assert found.doubt == ""
    assert found.planned_s == pytest.approx(found.timed_s, abs=0.05)


def test_the_truth_lies_in_the_intervals(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shorter test and a better hand, so that it is quick; `tests.benchmarks.stopwatch` has the whole one."""
    monkeypatch.setattr(blocks, "BLOCK_S", 6.0)
    test = make_test(HERON)
    counts = coverage(test, runs=30, error_s=0.03, seed=11)
    shares = [one.cover for one in counts.values()]
    assert 0.86 <= float(np.mean(shares)) <= 0.96 and min(shares) >= 0.75
    assert counts["speed x"].open_above > 0


def test_another_corner_rule_than_the_cards_is_told() -> None:
    test = motion_test("heron")
    truth = replace(HERON, corner=Corner(rule="junction-deviation", junction_deviation_mm=0.02))
    found = evaluate(test, Replan.of(test.blocks).seconds(truth).tolist())
    assert "corner rule junction-deviation explains them" in found.doubt
    assert "Block" not in evaluate(test, test.expected_s).doubt


def test_times_that_contradict_each_other_are_told() -> None:
    test = motion_test("heron")
    seconds = list(test.expected_s)
    seconds[6] += 6.0
    assert "contradict" in evaluate(test, seconds).doubt


def test_the_cards_new_values_plan_the_times_that_were_timed() -> None:
    test, chance = motion_test("heron"), np.random.default_rng(5)
    truth = drawn(test, chance) | {"speed x": 250.0, "speed y": 260.0, "speed z": 10.0}
    real = Replan.of(test.blocks).seconds(machine_with(HERON, truth))
    kept = evaluate(test, real.tolist()).card
    assert Replan.of(test.blocks).seconds(kept) == pytest.approx(real, rel=0.01)
    assert kept.print_acceleration_mm_s2 == HERON.print_acceleration_mm_s2
    assert evaluate(test, test.expected_s).card == HERON


def test_what_agrees_with_the_card_is_not_among_its_changes() -> None:
    test = motion_test("heron")
    off = (0.1, 3.0, 0.15, 0.0, 0.0, 0.0, 0.0, 0.0)
    found = evaluate(test, [one + more for one, more in zip(test.expected_s, off, strict=True)])
    z = found.of("acceleration z")
    assert z is not None and z.agrees and z.value != pytest.approx(z.card, rel=5e-3)
    assert "max_acceleration_mm_s2.y" in {one.key for one in found.changes}
    assert not {one.key for one in found.changes} & {"max_acceleration_mm_s2.x", "max_acceleration_mm_s2.z"}


def test_a_heater_is_timed() -> None:
    test = make_test(HERON, "plate")
    found = evaluate(test, [*test.expected_s[:-1], 145.0])
    assert found.warming_c_s == pytest.approx(29.0 / 145.0)
    assert found.warming_low_c_s is not None and found.warming_low_c_s < 0.2 < (found.warming_high_c_s or 0.0)
    assert found.card.heat.plate_warming_c_s == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        ([40.0] * 3, "8 blocks, and 3 times"),
        ([40.0] * 9, "8 blocks, and 9 times"),
        ([40.0] * 7 + [0.0], "is no time"),
        ([40.0] * 7 + [-3.0], "is no time"),
        ([40.0] * 7 + [math.nan], "is no time"),
        ([40.0] * 7 + [math.inf], "is no time"),
        ([4000.0] + [40.0] * 7, "Block 1 (short strokes along X) should take about 40 s, and 4000 s"),
        ([40.0] * 5 + [2.0, 40.0, 40.0], "Block 6"),
    ],
)
def test_times_that_cannot_be_true_get_a_sentence(seconds: list[float], said: str) -> None:
    with pytest.raises(BeadlineError, match=re.escape(said)):
        evaluate(motion_test("heron"), seconds)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"plate": Plate()}, "how large the plate is"),
        ({"height_mm": None}, "how high the nozzle may go"),
        ({"height_mm": 15.0}, "less than 20 mm"),
        ({"plate": Plate(width_mm=15.0, depth_mm=200.0)}, "less than 20 mm"),
        ({"reach": Reach(left_mm=300.0)}, "less than 20 mm"),
    ],
)
def test_a_card_that_allows_no_test_gets_a_sentence(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BeadlineError, match=said):
        make_test(replace(HERON, **changes))


def test_a_heater_that_may_not_get_warm_gets_a_sentence() -> None:
    with pytest.raises(BeadlineError, match="too little to time"):
        make_test(replace(HERON, heat=replace(HERON.heat, plate_max_c=30.0)), "plate")


def test_what_cannot_be_seen_is_said() -> None:
    slow = replace(HERON, travel_acceleration_mm_s2=100.0, min_segment_time_s=0.5)
    test = make_test(slow)
    assert any("Top speed along X" in sentence for sentence in test.not_measured)
    assert len({block.value for block in test.blocks}) < 7
    assert evaluate(test, test.expected_s).doubt == ""
