"""What the file says it was made for, beside the cards."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import findings, not_checked, opened, whole
from viewer.checks.finding import Finding, Severity
from viewer.checks.questions import Question
from viewer.program import Program
from viewer.verdict.brief import brief_findings

THICK = "; filament_diameter = 2.9\n"


def told(program: Program) -> list[Finding]:
    """Return what is found about the filament's diameter, by whichever check."""
    return [*findings(program, "made-for"), *findings(program, "nozzle-mismatch")]


def test_thick_filament_is_one_look_wherever_it_is_stated(tmp_path: Path) -> None:
    for text in (THICK + whole(3), whole(3) + THICK):
        (found,) = told(opened(tmp_path, text))
        assert (found.slug, found.severity) == ("nozzle-mismatch", Severity.LOOK)
        assert found.question is Question.FILAMENT  # a printer of another card does not help
        assert brief_findings([found]) == "Made for another filament: 2.9 mm, the card says 1.75"
        assert "filament of 2.90 mm; the card says 1.75 mm" in found.sentence
        assert "2.7 times too small" in found.sentence
    assert not findings(opened(tmp_path, THICK + whole(3), {"filament": {"diameter_mm": 2.85}}), "made-for")


def test_thick_filament_is_told_where_no_bead_has_a_width(tmp_path: Path) -> None:
    (found,) = told(opened(tmp_path, THICK + "G28\nG1 X10 Y10 Z0.2 F600\nG1 X20\nG1 E5\n"))
    assert (found.slug, found.severity) == ("made-for", Severity.LOOK)
    assert "2.9 mm; the cards say 1.75 mm" in found.sentence
    assert "2.7 times too small" in found.sentence


def test_filament_of_no_usual_diameter_is_a_look(tmp_path: Path) -> None:
    (found,) = told(opened(tmp_path, "; filament_diameter = 2.2\n" + whole(3)))
    assert (found.slug, found.severity) == ("made-for", Severity.LOOK)
    assert "2.2 mm; the cards say 1.75 mm" in found.sentence


@pytest.mark.parametrize("said", ["1.75", "1.7", "1.74", "1.88"])
def test_the_same_filament_measured_is_no_other(tmp_path: Path, said: str) -> None:
    assert not findings(opened(tmp_path, f"; filament_diameter = {said}\n" + whole(3)), "made-for")


def test_another_material(tmp_path: Path) -> None:
    text = "; filament_type = PETG\n" + whole(3)
    (found,) = findings(opened(tmp_path, text), "made-for")
    assert found.sentence == "The file says PETG; the card is PLA."
    assert found.lines == (1,)
    assert not findings(opened(tmp_path, text, {"filament": {"name": "PETG blue"}}), "made-for")
    assert not findings(opened(tmp_path, text, {"filament": {"name": "The grey one"}}), "made-for")


def test_another_nozzle(tmp_path: Path) -> None:
    text = ";   extruderDiameter,0.8\n" + whole(3)
    (found,) = findings(opened(tmp_path, text), "made-for")
    assert "a nozzle of 0.8 mm; that of Heron has 0.4 mm" in found.sentence
    assert not findings(opened(tmp_path, text, {"printer": {"nozzle_mm": 0.8}}), "made-for")


def test_a_larger_plate_is_a_note_and_a_smaller_one_nothing(tmp_path: Path) -> None:
    text = "; bed_shape = 0x0,{0}x0,{0}x210,0x210\n" + whole(3)
    (found,) = findings(opened(tmp_path, text.format(400)), "made-for")
    assert found.severity is Severity.NOTE
    assert not findings(opened(tmp_path, text.format(120)), "made-for")


def test_a_file_that_says_nothing_is_not_compared(tmp_path: Path) -> None:
    assert not_checked(opened(tmp_path, whole(3)), "made-for")
    assert not not_checked(opened(tmp_path, "; nozzle_diameter = 0.4\n" + whole(3)), "made-for")
