"""All checks, in the order they are shown, and `run_checks`: a program in, findings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Final

from viewer.checks.alike import one_each
from viewer.checks.endings.motion_test import motion_test
from viewer.checks.endings.shutdown import SHUT_DOWN_CHECK
from viewer.checks.evidence import first_bead
from viewer.checks.filament import FILAMENT_CHECKS
from viewer.checks.file import FILE_CHECKS
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Passed, Severity
from viewer.checks.first_layer import FIRST_LAYER_CHECKS
from viewer.checks.machine import MACHINE_CHECKS
from viewer.checks.made_for import MADE_FOR_CHECKS
from viewer.checks.midprint import MIDPRINT_CHECKS
from viewer.checks.order.account import ACCOUNT_CHECKS
from viewer.checks.order.layer_sequence import SEQUENCE_CHECKS
from viewer.checks.path import PATH_CHECKS
from viewer.checks.policy import policy_of
from viewer.checks.questions import Question
from viewer.checks.shape import SHAPE, SHAPE_CHECKS, overhang_angle_deg
from viewer.checks.stakes import beyond, stake_of
from viewer.checks.time import TIME_CHECKS
from viewer.errors import Stopped
from viewer.failures import failure_told
from viewer.program import Program
from viewer.progress import OnProgress
from viewer.shape import ShapeFigures, shape_of

CHECKS: tuple[Check, ...] = (
    *FILE_CHECKS,
    SHUT_DOWN_CHECK,
    *MACHINE_CHECKS,
    *PATH_CHECKS,
    *MADE_FOR_CHECKS,
    *MIDPRINT_CHECKS,
    *FILAMENT_CHECKS,
    *ACCOUNT_CHECKS,
    *FIRST_LAYER_CHECKS,
    *SHAPE_CHECKS,
    *SEQUENCE_CHECKS,
    *TIME_CHECKS,
)
"""Every check there is."""
QUESTIONS: Final = {check.slug: check.answers for check in CHECKS}
"""Check and the question that it helps to answer."""

WITHOUT_BEADS = frozenset({"garbled", "checksum", "no-beads", "too-hot-for-machine"})
"""Checks that still mean something where nothing is extruded; `no-beads` speaks for all others."""

SHAPE_WEIGHT = 20.0
"""Measuring the shape draws every layer: this many times the work of one check."""


@dataclass(frozen=True, slots=True)
class Report:
    """What the checks found, in the order of `report_of`, and what was not checked."""

    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...] = ()
    shape: ShapeFigures | None = None
    """What the checks of the shape judged; None where all of them are off."""
    start: datetime | None = None
    """When the print starts, as the checks were told."""
    passed: tuple[Passed, ...] = ()
    """The checks that found nothing and say what holds instead, in the order of `CHECKS`."""

    @property
    def worst(self) -> Severity | None:
        """The gravest severity; None where nothing was found."""
        return self.findings[0].severity if self.findings else None

    @property
    def failed(self) -> tuple[NotChecked, ...]:
        """The checks that met an error of their own."""
        return tuple(one for one in self.not_checked if one.failed)

    def count(self, severity: Severity) -> int:
        """Return how many findings are of one severity."""
        return sum(1 for finding in self.findings if finding.severity is severity)


def run_checks(
    program: Program,
    on_progress: OnProgress | None = None,
    stop: Callable[[], bool] | None = None,
    start: datetime | None = None,
    checks: Sequence[Check] = CHECKS,
) -> Report:
    """Check a program.

    Parameters
    ----------
    on_progress
        Called with the check at work and the share of the work done.
    stop
        Asked often.
    start
        When the print starts, for the checks of clock times; None: these are not made.
    checks
        Those to make.

    Raises
    ------
    CardError
        The workshop card names a check that does not exist.
    Stopped
        `stop` returned True.

    Notes
    -----
    A check finds something or says why it did not look. One that fails of itself is told as `NotChecked` with
    ``failed`` (what it found until then counts), and the others go on; `viewer.failures` says when it raises instead.
    """
    policy = policy_of(checks, program.workshop, start, known=CHECKS)
    rules = policy.rules
    if "no-beads" in rules and first_bead(program) is None:
        meaning = WITHOUT_BEADS if motion_test(program) is None else WITHOUT_BEADS | {"made-for"}
        checks = [check for check in checks if check.slug in meaning]
    judges = [check for check in checks if check.judge is not None and check.slug in rules]
    runs = [check for check in checks if check.run is not None and check.slug in rules]
    found: list[Outcome] = list(policy.switched_off)
    total = len(runs) + (SHAPE_WEIGHT if judges else 0.0)

    def tell(name: str, done: float) -> None:
        if stop is not None and stop():
            raise Stopped
        if on_progress is not None:
            on_progress(name, min(1.0, done / total))

    for number, check in enumerate(runs):
        tell(check.title, number)
        assert check.run is not None
        found += _guarded(check, partial(check.run, program, rules[check.slug]))
    shape = None
    if judges:
        tell(SHAPE, len(runs))
        try:
            shape = shape_of(
                program.shape_columns, overhang_angle_deg(rules),
                lambda share: tell(SHAPE, len(runs) + SHAPE_WEIGHT * share), stop,
            )  # fmt: skip
        except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
            told = failure_told("checked", "the measuring of the shape", problem)
            found += [NotChecked(check.slug, told, failed=True) for check in judges]
    if shape is not None:
        for check in judges:
            assert check.judge is not None
            found += _guarded(check, partial(check.judge, program, shape, rules[check.slug]))
    if on_progress is not None:
        on_progress("done", 1.0)
    return report_of(_told_once(found), shape, start)


_TOLD_BY = {"no-shutdown": "heaters-left-on"}
"""A finding of the first check names what one of the second would say."""


def _told_once(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Return the outcomes without findings that another one has told."""
    told = {_TOLD_BY.get(one.slug) for one in outcomes if isinstance(one, Finding)}
    return [one for one in outcomes if not (isinstance(one, Finding) and one.slug in told)]


def _guarded(check: Check, made: Callable[[], Iterator[Outcome]]) -> Iterator[Outcome]:
    """Yield what a check finds; where it fails of itself, what it found until then and that it failed."""
    try:
        yield from made()
    except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
        told = failure_told("checked", f"the check {check.slug} ({check.title})", problem)
        yield NotChecked(check.slug, told, failed=True)


def report_of(
    outcomes: Sequence[Outcome], shape: ShapeFigures | None = None, start: datetime | None = None
) -> Report:
    """Join alike findings and sort: the gravest first, of equals that in which most is at stake.

    Of one stake first what lies farthest beyond its limit, then in the order of the checks, by layer and by line.

    A check passed only where it found nothing and left nothing unchecked.
    """
    findings = one_each(outcome for outcome in outcomes if isinstance(outcome, Finding))
    place = {check.slug: number for number, check in enumerate(CHECKS)}
    findings.sort(
        key=lambda one: (one.severity.rank, stake_of(one), -beyond(one), place[one.slug], *one.order)
    )
    not_checked = _joined([outcome for outcome in outcomes if isinstance(outcome, NotChecked)])
    told = {finding.slug for finding in findings} | {slug for one in not_checked for slug in one.slugs}
    passed = [one for one in outcomes if isinstance(one, Passed) and one.slug not in told]
    passed.sort(key=lambda one: place[one.slug])
    return Report(tuple(findings), not_checked, shape, start, tuple(passed))


def _joined(outcomes: Sequence[NotChecked]) -> tuple[NotChecked, ...]:
    """Make one entry of several checks that were not made for the same reason."""
    slugs: dict[tuple[str, bool], dict[str, None]] = {}
    for outcome in outcomes:
        slugs.setdefault((outcome.sentence, outcome.failed), {}).update(dict.fromkeys(outcome.slugs))
    entries = ((sentence, failed, tuple(found)) for (sentence, failed), found in slugs.items())
    return tuple(NotChecked(found[0], sentence, failed, found[1:]) for sentence, failed, found in entries)


def check_named(slug: str) -> Check | None:
    """Return a check by its slug; None where there is none."""
    return next((check for check in CHECKS if check.slug == slug), None)


def question_of(finding: Finding) -> Question:
    """Return the question that a finding of one of our checks bears on: its own, or else that of its check."""
    return finding.question or QUESTIONS[finding.slug]
