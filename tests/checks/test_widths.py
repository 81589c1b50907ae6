"""Nozzle, filament or flow: what does not fit the beads, and how it is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, Changes, findings, opened
from viewer.checks.finding import Finding, NotChecked
from viewer.checks.run import report_of
from viewer.read.comments.statements import read_statement

PER_MM = 0.41 * 0.2 / 2.4053
"""mm of 1.75 mm filament for a mm of beads 0.41 mm apart in layers of 0.2 mm: A = s t."""


def plates(per_mm: float = PER_MM, spacing: float = 0.41, extra: str = "") -> str:
    """Three layers of lines 30 mm long that touch."""
    text, e = START + extra, 0.0
    for layer in range(1, 4):
        text += f"G0 Z{0.2 * layer:.2f} F600\nG0 X90 Y90 F6000\n"
        for row in range(40):
            y, (a, b) = 90 + row * spacing, ((90, 120) if row % 2 == 0 else (120, 90))
            e += 30 * per_mm
            text += f"G0 X{a} Y{y:.3f}\nG1 X{b} Y{y:.3f} E{e:.5f} F1500\n"
    return text + END


def mismatch(folder: Path, text: str, changes: Changes | None = None) -> list[Finding]:
    return findings(opened(folder, text, changes), "nozzle-mismatch")


def share(made_for: float) -> float:
    """mm of filament of another diameter for as much volume."""
    return PER_MM * (1.75 / made_for) ** 2


def test_nothing_is_said_where_all_fits(tmp_path: Path) -> None:
    assert mismatch(tmp_path, plates()) == []
    assert mismatch(tmp_path, plates(extra="; filament_diameter = 1.75\n")) == []
    assert mismatch(tmp_path, plates(share(2.85)), {"filament": {"diameter_mm": 2.85}}) == []


@pytest.mark.parametrize("made_for", [2.85, 3.0])
def test_spacing_tells_the_filament(tmp_path: Path, made_for: float) -> None:
    (found,) = mismatch(tmp_path, plates(share(made_for)))
    assert "Beads lie 0.41 mm apart" in found.sentence
    assert "made for filament of 2.85 mm" in found.sentence
    assert "2.7 times too small" in found.sentence
    assert (found.value, found.limit) == (pytest.approx(made_for, abs=0.01), 1.75)
    assert "--filament-diameter 2.85" in found.remedy


def test_thin_filament_under_a_thick_card(tmp_path: Path) -> None:
    (found,) = mismatch(tmp_path, plates(), {"filament": {"diameter_mm": 2.85}})
    assert "made for filament of 1.75 mm" in found.sentence and "2.7 times too large" in found.sentence


@pytest.mark.parametrize(
    "comment",
    [
        "filament_diameter = 2.94",
        "Filament Diameter #1: 2.94",
        "   filamentDiameters,2.94|2.94",
        "Material Diameter (mm): 2.94",
    ],
)
def test_what_comments_state_is_never_passed_in_silence(tmp_path: Path, comment: str) -> None:
    text = plates(share(2.94), extra=f";{comment}\n")
    (found,) = mismatch(tmp_path, text)
    assert "By its own settings and its beads' spacing" in found.sentence and "2.94 mm" in found.sentence
    assert found.lines == (text.split("\n").index(f";{comment}") + 1,)
    assert "--filament-diameter 2.94" in found.remedy
    (alone,) = mismatch(
        tmp_path, plates(extra=f";{comment}\n")
    )  # stated, though the spacing agrees with the card
    assert alone.sentence.startswith("By its own settings the program was made for filament of 2.94 mm")
    assert mismatch(tmp_path, text, {"filament": {"diameter_mm": 2.85}}) == []


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("filament_diameter = 1.75,2.85", (1.75, 2.85)),
        ("filament_diameter: 2.85", (2.85,)),
        ("nozzle_diameter = 0.4", ()),
        ("support_material_diameter = 2.9", ()),
        ("filament_diameter = 1750", ()),
        ("filament_diameter_tolerance = 2.0", ()),
        ("Filament Diameter: unknown", ()),
        ("the filament diameter is 2.85", ()),
    ],
)
def test_stated_diameters(text: str, values: tuple[float, ...]) -> None:
    found = read_statement(text)
    assert (found.values if found is not None and found.quantity == "filament_diameter_mm" else ()) == values


def test_flow_that_no_filament_explains(tmp_path: Path) -> None:
    (found,) = mismatch(tmp_path, plates(10.0 * PER_MM))
    assert "but 10 times the filament is fed" in found.sentence and "flow" in found.remedy
    assert found.value == pytest.approx(10.0, rel=0.01)
    (little,) = mismatch(tmp_path, plates(0.2 * PER_MM))
    assert "but 0.2 times the filament is fed" in little.sentence


def test_another_nozzle(tmp_path: Path) -> None:
    (found,) = mismatch(tmp_path, plates(0.9 * 0.2 / 2.4053, 0.9))
    assert "laid 0.90 mm apart, too wide for a nozzle of 0.4 mm" in found.sentence
    (narrow,) = mismatch(tmp_path, plates(0.2 * 0.2 / 2.4053, 0.22))
    assert "too narrow for a nozzle of 0.4 mm" in narrow.sentence


def test_a_little_under_the_usual_width_is_passed_where_the_spacing_is_usual(tmp_path: Path) -> None:
    # computed 0.317 mm where 0.32 mm is usual, 0.35 mm apart, as in a real program
    area = 0.35 * 0.25 / 1.33
    program = opened(tmp_path, plates(area / 2.4053, 0.35))
    assert program.widths.computed_mm is not None and program.widths.is_known
    assert findings(program, "nozzle-mismatch") == []


def test_reasons_that_are_alike_are_one_entry() -> None:
    one, two = NotChecked("a", "Unknown."), NotChecked("b", "Off.")
    report = report_of(
        [one, two, NotChecked("c", "Unknown."), NotChecked("a", "Unknown."), NotChecked("d", "Unknown.")]
    )
    assert [entry.slugs for entry in report.not_checked] == [("a", "c", "d"), ("b",)]
    assert [entry.told for entry in report.not_checked] == ["Unknown. It holds for c and d, too.", "Off."]
