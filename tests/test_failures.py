"""A part that fails of itself: told by name, the rest goes on, exit status 2; and in tests it raises."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.checks.on_paper import opened, whole
from tests.conftest import SAMPLES
from viewer.__main__ import main
from viewer.checks import run
from viewer.checks.finding import Finding, Outcome, Rule, Severity
from viewer.checks.run import run_checks
from viewer.errors import BeadlineError, ReadError
from viewer.failures import LOG_FILE, RAISE, failure_told
from viewer.program import Program
from viewer.shown.finding_text import verdict_text
from viewer.shown.paper.job_sheet import job_sheet

GOOD = str(SAMPLES / "tap_washers_bare.gcode")
Captured = pytest.CaptureFixture[str]


def _fails_late(program: Program, rule: Rule) -> Iterator[Outcome]:
    yield Finding(slug="off-plate", severity=Severity.LOOK, sentence="Found before it failed.")
    raise IndexError("list index out of range")


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check `off-plate` finds one thing and fails then."""
    checks = tuple(replace(c, run=_fails_late) if c.slug == "off-plate" else c for c in run.CHECKS)
    monkeypatch.setattr(run.run_checks, "__defaults__", (None, None, None, checks))
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)


@pytest.mark.usefixtures("broken")
def test_in_tests_a_failing_check_raises(tmp_path: Path) -> None:
    with pytest.raises(IndexError):
        run_checks(opened(tmp_path, whole(3)))


@pytest.mark.usefixtures("broken", "failures_are_told")
def test_a_failing_check_is_told_and_the_others_go_on(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3))
    report = run_checks(program)
    (failed,) = report.failed
    assert failed.slug == "off-plate"
    assert failed.sentence.startswith("Not checked, because it failed: the check off-plate (")
    assert "Send the file and this sentence to whoever maintains Beadline." in failed.sentence
    assert "Found before it failed." in [finding.sentence for finding in report.findings]
    assert {"spool-short", "after-closing"} <= {entry.slug for entry in report.not_checked}
    assert verdict_text(report).endswith("; 1 check failed and was not made")
    assert "Not checked, because it failed" in job_sheet(program, report, None)


@pytest.mark.usefixtures("broken", "failures_are_told")
def test_on_the_console(capsys: Captured, tmp_path: Path) -> None:
    assert main(["vet", GOOD]) == 2
    out = capsys.readouterr().out
    assert "off-plate: Not checked, because it failed" in out and "1 check failed" in out.splitlines()[0]
    assert main(["vet", "--json", GOOD]) == 2
    told = {entry["slug"]: entry["failed"] for entry in json.loads(capsys.readouterr().out)["not_checked"]}
    assert told["off-plate"] is True and told["spool-short"] is False
    assert main(["figures", "--json", GOOD]) == 2
    capsys.readouterr()
    assert main(["sheet", GOOD, "-o", str(tmp_path / "sheet.html")]) == 2
    assert "the check off-plate" in capsys.readouterr().err


def _raises(*_: object) -> None:
    raise IndexError("cannot do a non-empty take from an empty axes.")


@pytest.mark.usefixtures("failures_are_told")
def test_shape_that_cannot_be_measured_is_one_entry_for_its_checks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run, "shape_of", _raises)
    report = run_checks(opened(tmp_path, whole(3)))
    (failed,) = report.failed
    judged = {check.slug for check in run.CHECKS if check.judge is not None}
    assert set(failed.slugs) == judged and len(judged) > 1
    assert f"{len(judged)} checks failed and were not made" in verdict_text(report)


@pytest.mark.usefixtures("failures_are_told")
@pytest.mark.parametrize(
    ("name", "parts"), [("first_layer", {"first_layer", "standing"}), ("standing", {"standing"})]
)
def test_figures_that_cannot_be_computed(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch, name: str, parts: set[str]
) -> None:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)
    monkeypatch.setattr(f"viewer.program.{name}", _raises)
    assert main(["figures", GOOD]) == 2
    assert "Not computed, because it failed" in " ".join(capsys.readouterr().out.split())
    assert main(["figures", "--json", GOOD]) == 2
    plain = json.loads(capsys.readouterr().out)
    assert set(plain["failures"]) == parts and plain["standing"] is None
    assert (plain["first_layer"] is None) == ("first_layer" in parts)


@pytest.mark.usefixtures("failures_are_told")
@pytest.mark.parametrize(
    "problem", [ReadError("gone"), BeadlineError("no"), MemoryError(), BrokenPipeError()]
)
def test_what_is_no_failure_of_the_code_is_raised(problem: Exception) -> None:
    with pytest.raises(type(problem)):
        failure_told("checked", "the check topples", problem)


def test_the_switch_of_the_tests_is_on(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match="odd"):
        failure_told("checked", "the check topples", ValueError("odd"))
    monkeypatch.delenv(RAISE)
    assert "ValueError" in failure_told("checked", "the check topples", ValueError("odd"))


def test_a_log_that_cannot_be_written_is_told(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(LOG_FILE, str(tmp_path / "none" / "log.txt"))
    assert main(["vet", GOOD]) == 2
    assert "which cannot be written" in capsys.readouterr().err
