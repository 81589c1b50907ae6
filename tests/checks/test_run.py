"""`run_checks`: all checks in one go, sorted, with progress, and nothing passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, opened, whole
from viewer.checks.finding import Check, Finding, Judge, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.run import CHECKS, check_named, report_of, run_checks
from viewer.checks.stakes import stake_of
from viewer.errors import CardError, Stopped
from viewer.program import Program
from viewer.shape import ShapeFigures

TABLE = [
    "cut-short",
    "no-shutdown",
    "garbled",
    "checksum",
    "no-beads",
    "unknown-commands",
    "off-plate",
    "made-for",
    "not-homed",
    "too-hot-for-machine",
    "heaters-left-on",
    "beyond-flow",
    "speed-cut",
    "nozzle-mismatch",
    "more-tools",
    "wrong-heat",
    "abrasive",
    "spool-short",
    "e-counting",
    "filament-account",
    "layer-sequence",
    "thick-layers",
    "topples",
    "off-in-print",
    "stands-still",
    "homed-in-print",
    "slow-lines",
    "lasting-settings",
    "plate-still-cold",
    "part-fan",
    "drives-into-print",
    "head-hits-print",
    "below-plate",
    "beyond-reach",
    "tiny-island",
    "gaps",
    "first-layer-speed",
    "first-layer-height",
    "mid-air-start",
    "steep-overhang",
    "long-bridge",
    "thin-feature",
    "bare-travel",
    "quick-layers",
    "claims-differ",
    "after-closing",
]


def test_every_check_of_the_plan_is_there_once() -> None:
    assert sorted(check.slug for check in CHECKS) == sorted(TABLE)
    named = check_named("off-plate")
    assert named is not None
    assert named.theme == "the machine"
    assert check_named("no-such-check") is None


def test_a_report_of_a_sound_program(tmp_path: Path) -> None:
    report = run_checks(opened(tmp_path, whole(10, size=80.0)))
    assert all(finding.severity is not Severity.STOP for finding in report.findings)
    assert {"spool-short", "after-closing"} <= {entry.slug for entry in report.not_checked}


def test_the_gravest_comes_first_then_where_most_is_at_stake(tmp_path: Path) -> None:
    text = whole(10, START.replace("S210", "S300"), "").replace("G92 E0\n", "G92 E0\nM7777\n") + "G1 X1"
    report = run_checks(opened(tmp_path, text))
    assert {"cut-short", "too-hot-for-machine", "unknown-commands"} <= {f.slug for f in report.findings}
    assert report.worst is Severity.STOP
    assert report.count(Severity.STOP) == sum(f.severity is Severity.STOP for f in report.findings) >= 2
    keys = [(f.severity.rank, stake_of(f)) for f in report.findings]
    assert keys == sorted(keys)


def test_findings_of_a_check_are_sorted_by_layer_and_line() -> None:
    note = Finding(slug="gaps", severity=Severity.NOTE, sentence="n")
    found = [
        replace(note, layer=3, lines=(9,)), replace(note, layer=2, lines=(40,)), replace(note, lines=(70,)),
        replace(note, layer=2, lines=(30,)), replace(note, severity=Severity.LOOK, layer=9),
    ]  # fmt: skip
    report = report_of([*found, NotChecked("c", "Not looked at.")])
    assert [(f.layer, f.lines) for f in report.findings] == [
        (9, ()), (None, (70,)), (2, (30,)), (2, (40,)), (3, (9,)),
    ]  # fmt: skip
    assert [entry.slug for entry in report.not_checked] == ["c"]
    assert report_of([]).worst is None


def test_progress_grows_to_one_and_names_the_checks(tmp_path: Path) -> None:
    told: list[tuple[str, float]] = []
    run_checks(opened(tmp_path, whole(6)), lambda name, share: told.append((name, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert {"Cut short", "Off the plate"} & {name for name, _ in told}


def test_it_stops_when_asked(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3))
    asked = iter([False, False, True, True, True, True])
    with pytest.raises(Stopped):
        run_checks(program, stop=lambda: next(asked))


def test_clock_times_need_a_start(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(6))
    without = [entry.slug for entry in run_checks(program).not_checked]
    report = run_checks(program, start=datetime(2024, 5, 6, 17, 59, 59))
    assert "after-closing" in without
    assert "after-closing" in [finding.slug for finding in report.findings]


def test_what_is_off_is_reported_with_its_reason(tmp_path: Path) -> None:
    shop = {"checks": {"cut-short": {"off": True, "reason": "our machines stop by themselves"}}}
    report = run_checks(opened(tmp_path, whole(3, end=""), {"workshop": shop}))
    assert "cut-short" not in [finding.slug for finding in report.findings]
    assert any("our machines stop by themselves" in entry.sentence for entry in report.not_checked)


def test_an_unknown_check_in_the_card_is_refused(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3), {"workshop": {"checks": {"cut-shrot": {"off": True}}}})
    with pytest.raises(CardError, match="cut-short"):
        run_checks(program)


WORDS = dict.fromkeys(("theme", "title", "looks_at", "why", "what_to_do", "cannot_see"), "words")


def test_the_shape_is_measured_once_for_the_checks_that_are_on(tmp_path: Path) -> None:
    seen: list[tuple[str, ShapeFigures]] = []

    def judging(slug: str) -> Judge:
        def judge(_program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
            seen.append((slug, shape))
            yield Finding(slug=slug, severity=rule.severity, sentence="Found.")

        return judge

    judges = [
        Check(slug=slug, severity=Severity.LOOK, limit=None, unit="", judge=judging(slug), **WORDS)
        for slug in ("thin-feature", "long-bridge", "steep-overhang")
    ]
    told: list[float] = []
    shop = {"checks": {"long-bridge": {"off": True}, "steep-overhang": {"severity": "stop"}}}
    program = opened(tmp_path, whole(3), {"workshop": shop})
    report = run_checks(program, lambda _, share: told.append(share), checks=judges)
    assert [slug for slug, _ in seen] == ["thin-feature", "steep-overhang"]
    assert all(shape is report.shape for _, shape in seen)
    assert report.shape is not None
    assert report.shape.overhang_mm2.shape == (3,)
    assert [(f.slug, f.severity) for f in report.findings] == [
        ("steep-overhang", Severity.STOP),
        ("thin-feature", Severity.LOOK),
    ]
    assert told[0] == 0.0
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_the_shape_is_not_measured_for_other_checks(tmp_path: Path) -> None:
    found = run_checks(opened(tmp_path, whole(3)), checks=[c for c in CHECKS if c.run is not None])
    assert found.shape is None


def test_the_angle_of_overhang_is_the_workshop_cards(tmp_path: Path) -> None:
    shop = {"checks": {"steep-overhang": {"limit": 60.0}}}
    report = run_checks(opened(tmp_path, whole(3), {"workshop": shop}))
    assert report.shape is not None
    assert report.shape.angle_deg == 60.0


def test_a_broken_check_is_not_hidden(tmp_path: Path) -> None:
    def broken(_program: Program, _rule: Rule) -> Iterator[Outcome]:
        yield NotChecked("broken", "before")
        raise ZeroDivisionError

    check = Check(slug="broken", severity=Severity.LOOK, limit=None, unit="", run=broken, **WORDS)
    with pytest.raises(ZeroDivisionError):
        run_checks(opened(tmp_path, whole(2)), checks=[check])


@pytest.mark.parametrize(
    "text",
    [
        ";\nG21\n", "G28\n", "G1 X5 E1\n", "M104 S210\n", START, START + END, "G1 X1 Y1 Z1 E1\n" * 3, "T1\nG1 "
        "X9 E3 F600\n",
        "G1 X10 Y10 E1 F0\nG1 X20 E1\n", "M73 P5\n" * 9, "; layer count: 1000000\nG21\n", "M104\nM140 S\nM109 T\n",
        "G91\nG1 X5 E1 F600\nG1 Z-9\nG1 X5 E1\n",
    ],
)  # fmt: skip
def test_scraps_of_programs_give_a_report(tmp_path: Path, text: str) -> None:
    report = run_checks(opened(tmp_path, text), start=datetime(2024, 5, 6, 12, 0))
    slugs = {finding.slug for finding in report.findings}
    assert slugs & {"cut-short", "no-shutdown", "no-beads"} or text == START + END
    assert all(finding.sentence and finding.remedy for finding in report.findings)


def test_a_check_passes_only_where_nothing_was_found_and_nothing_left_out() -> None:
    finding = Finding(slug="gaps", severity=Severity.LOOK, sentence="A gap.")
    skipped = NotChecked("beyond-flow", "Unknown.")
    passed = [Passed(slug, "It holds.") for slug in ("spool-short", "gaps", "beyond-flow", "cut-short")]
    report = report_of([finding, skipped, *passed])
    assert [one.slug for one in report.passed] == ["cut-short", "spool-short"]
