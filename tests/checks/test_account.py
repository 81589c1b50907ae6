"""The filament's account, the way E is counted, and the order of layers, on small programs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, opened, outcomes
from tests.programs import loop, square
from viewer.checks.finding import Finding, Passed
from viewer.figures.layer_sequence import beads_laid_lower, layers_laid_twice, layers_left_out

PULL_MM = 1.0


def boxes(heights: list[float], at: str = "", number: int = -1, primed: bool = True) -> str:
    """Squares at heights, with a pull before each; commands `at` stand before one of them."""
    text, e = START, 0.0
    for k, z in enumerate(heights):
        text += f"G1 E{e - PULL_MM:.5f}\nG0 X40 Y40 Z{z}\n" + (f"{at}\n" if k == number else "")
        text += f"G1 E{e:.5f}\n" if primed or k != number else ""
        text += f"G1 X50 Y50 Z{z}\n"
        piece, e = loop(square(20.0), z, e)
        text += piece
    return text + END


def steps(count: int, left_out: int = -1) -> list[float]:
    return [round(0.2 * k, 3) for k in range(1, count + 1) if k != left_out]


def told(program: object, slug: str) -> list[Finding]:
    found = outcomes(program, slug)  # type: ignore[arg-type]
    return [one for one in found if isinstance(one, Finding)]


def test_balanced_says_what_holds(tmp_path: Path) -> None:
    (one,) = outcomes(opened(tmp_path, boxes(steps(8))), "filament-account")
    assert isinstance(one, Passed)
    assert one.sentence.startswith("What is pulled back is fed again")


def test_a_bead_that_draws_what_was_pulled_back_owes_nothing(tmp_path: Path) -> None:
    # E is absolute: without its own line the prime comes with the first bead
    (one,) = outcomes(opened(tmp_path, boxes(steps(8), number=4, primed=False)), "filament-account")
    assert isinstance(one, Passed)


def test_one_missing_prime_is_measured(tmp_path: Path) -> None:
    text = boxes(steps(8), at="G92 E2.4", number=1, primed=False)  # the first square ends at 2.4
    (found,) = told(opened(tmp_path, text), "filament-account")
    assert found.value == pytest.approx(PULL_MM, abs=0.01)
    assert found.layer == 2


@pytest.mark.parametrize("command", ["M600", "T1", "M0"])
def test_a_change_of_filament_begins_the_account_again(tmp_path: Path, command: str) -> None:
    text = boxes(steps(8), at=f"{command}\nG92 E2.4", number=1, primed=False)
    assert told(opened(tmp_path, text), "filament-account") == []


def test_filament_that_is_drawn_out_is_a_stop(tmp_path: Path) -> None:
    (found,) = told(
        opened(tmp_path, boxes(steps(8), at="G1 E-200\nG92 E2.4", number=1, primed=False)), "filament-account"
    )
    assert found.severity.value == "stop"


def test_a_lump_is_looked_at_and_a_small_one_noted(tmp_path: Path) -> None:
    for more, severity in ((6.0, "look"), (1.0, "note")):
        text = boxes(steps(8), at=f"G92 E{1.4 - more}", number=1)
        (found,) = told(opened(tmp_path, text), "filament-account")
        assert (found.value, found.severity.value) == (pytest.approx(more, abs=0.01), severity)


def test_without_m82_the_machine_decides(tmp_path: Path) -> None:
    text = boxes(steps(8)).replace("M82\n", "G91\nG90\n")
    assert told(opened(tmp_path, text), "e-counting") == []
    wrong = boxes(steps(40)).replace("M82\n", "M83\n")
    (found,) = told(opened(tmp_path, wrong), "e-counting")
    assert found.severity.value == "stop"
    assert "M83" in found.sentence


def test_layers_in_order_are_silent(tmp_path: Path) -> None:
    program = opened(tmp_path, boxes(steps(12)))
    assert layers_left_out(program.moves, program.layers) == []
    assert layers_laid_twice(program.moves, program.layers) == []
    assert beads_laid_lower(program.moves, program.layers) == []


def test_a_layer_left_out_is_found_between_its_neighbours(tmp_path: Path) -> None:
    program = opened(tmp_path, boxes(steps(12, left_out=6)))
    (one,) = layers_left_out(program.moves, program.layers)
    assert (one.layer, one.usual_mm, one.rise_mm) == (
        6,
        pytest.approx(0.2, abs=1e-3),
        pytest.approx(0.4, abs=1e-3),
    )


def test_layers_of_varying_height_are_not_left_out(tmp_path: Path) -> None:
    heights = [0.2, 0.4, 0.55, 0.7, 0.85, 1.15, 1.45, 1.75, 2.05]
    program = opened(tmp_path, boxes(heights))
    assert layers_left_out(program.moves, program.layers) == []


def test_a_layer_that_is_laid_twice(tmp_path: Path) -> None:
    heights = steps(12)
    program = opened(tmp_path, boxes([*heights[:6], *heights[5:]]))
    (one,) = layers_laid_twice(program.moves, program.layers)
    assert (one.layer, one.share) == (6, pytest.approx(1.0, abs=0.01))


def test_layers_in_the_wrong_order(tmp_path: Path) -> None:
    heights = steps(12)
    heights[5], heights[6] = heights[6], heights[5]
    program = opened(tmp_path, boxes(heights))
    (one,) = beads_laid_lower(program.moves, program.layers)
    assert (one.height_mm, one.above_mm) == (pytest.approx(1.2), pytest.approx(1.4))
