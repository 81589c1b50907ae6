"""The faulty sample programs: each fires where it says, its near miss does not, and the good ones give no stop."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.checks.on_paper import CHECKS, findings, opened_file
from tests.conftest import SAMPLES
from viewer.checks.finding import Finding, Severity

FAULTY = SAMPLES / "faulty"
EXPECTED: dict[str, Any] = json.loads((FAULTY / "EXPECTED.json").read_text())
OURS = sorted(name for name, entry in EXPECTED.items() if entry["slug"] in CHECKS)
NEAR_MM = 0.5
NO_ONE_LINE = ("off-plate", "quick-layers")
"""Many lines are as telling: the first bead outside, the first bead of the quickest layer are ours."""


def start_of(entry: dict[str, Any]) -> datetime | None:
    return datetime.fromisoformat(f"2024-05-06T{entry['start']}:00") if entry["start"] else None


def found_in(entry: dict[str, Any], which: str) -> list[Finding]:
    cards = entry["cards" if which == "file" else "near_miss_cards"]
    return findings(opened_file(FAULTY / entry[which], cards), entry["slug"], start_of(entry))


def test_every_check_of_these_themes_has_a_faulty_program() -> None:
    assert {EXPECTED[name]["slug"] for name in OURS} == set(CHECKS)


@pytest.mark.parametrize("name", OURS)
def test_the_fault_is_found(name: str) -> None:
    entry = EXPECTED[name]
    (found,) = found_in(entry, "file")
    if entry["line"] is not None and entry["slug"] not in NO_ONE_LINE:
        assert found.lines[0] == entry["line"]
    if entry["slug"] in ("off-plate", "beyond-flow", "quick-layers"):
        assert found.place_mm is not None
        assert found.place_mm[:2] == pytest.approx(entry["place_mm"], abs=NEAR_MM)
    assert found.remedy
    assert found.sentence.endswith(".")


@pytest.mark.parametrize("name", OURS)
def test_the_near_miss_is_silent(name: str) -> None:
    assert found_in(EXPECTED[name], "near_miss") == []


@pytest.mark.parametrize("name", OURS)
def test_the_workshop_card_switches_it_off(name: str) -> None:
    entry = EXPECTED[name]
    off = {entry["slug"]: {"off": True, "reason": "tested by hand"}}
    shop = {**entry["cards"].get("workshop", {}), "checks": off}
    program = opened_file(FAULTY / entry["file"], {**entry["cards"], "workshop": shop})
    assert findings(program, entry["slug"], start_of(entry)) == []


def test_the_good_samples_give_no_stop(samples: list[Path]) -> None:
    for path in samples:
        program = opened_file(path)
        stops = [f for slug in CHECKS for f in findings(program, slug) if f.severity is Severity.STOP]
        assert stops == [], path.name
