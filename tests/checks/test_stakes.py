"""Of findings of one severity that comes first in which most is at stake."""

from __future__ import annotations

import pytest

from viewer.checks.finding import Finding, Hazard, Severity
from viewer.checks.run import CHECKS, report_of
from viewer.checks.stakes import STAKES, Stake, beyond, stake_of


def found(slug: str, severity: Severity = Severity.LOOK, **more: object) -> Finding:
    return Finding(slug=slug, severity=severity, sentence=slug, **more)  # type: ignore[arg-type]


def test_every_check_has_a_stake_and_nothing_else_has() -> None:
    assert set(STAKES) == {check.slug for check in CHECKS}
    assert all(
        STAKES[c.slug] is Stake.HARM
        for c in CHECKS
        if c.hazard and c.slug not in ("wrong-heat", "plate-still-cold")
    )


def test_severity_then_stake_then_how_far_beyond_the_limit() -> None:
    report = report_of(
        [
            found("claims-differ", value=9.0, limit=1.0),
            found("steep-overhang", value=11.0, limit=10.0),
            found("long-bridge", value=30.0, limit=10.0),
            found("thin-feature"),
            found("gaps"),
            found("stands-still"),
            found("wrong-heat", hazard=Hazard.HEAT),
            found("thin-feature", Severity.STOP),
        ]
    )
    assert [one.slug for one in report.findings] == [
        "thin-feature", "stands-still", "wrong-heat", "gaps", "long-bridge", "steep-overhang", "thin-feature",
        "claims-differ",
    ]  # fmt: skip


def test_without_a_limit_nothing_lies_beyond_it() -> None:
    assert beyond(found("gaps", value=3.0)) == beyond(found("gaps", value=3.0, limit=0.0)) == 0.0
    assert beyond(found("topples", value=5.0, limit=10.0)) == 0.5


def test_of_two_edges_the_one_that_beads_leave_farther_stands_first() -> None:
    left, right = found("off-plate", value=-44.0, limit=0.0), found("off-plate", value=225.0, limit=220.0)
    assert beyond(left) == 44.0 / 200.0 and beyond(right) == 5.0 / 200.0
    assert report_of([right, left]).findings == (left, right)


def test_a_finding_of_no_check_has_no_stake() -> None:
    with pytest.raises(KeyError, match="not-a-check"):
        stake_of(found("not-a-check"))
