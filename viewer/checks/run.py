"""All checks, in the order they are shown, and `run_checks`: a program in, findings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from viewer.checks.filament import FILAMENT_CHECKS
from viewer.checks.file import FILE_CHECKS
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Rule, Severity, Watch
from viewer.checks.first_layer import FIRST_LAYER_CHECKS
from viewer.checks.machine import MACHINE_CHECKS
from viewer.checks.policy import policy_of
from viewer.checks.shape import SHAPE_CHECKS
from viewer.checks.subject import Subject
from viewer.checks.time import TIME_CHECKS
from viewer.progress import OnProgress

CHECKS: tuple[Check, ...] = (
    *FILE_CHECKS,
    *MACHINE_CHECKS,
    *FILAMENT_CHECKS,
    *FIRST_LAYER_CHECKS,
    *SHAPE_CHECKS,
    *TIME_CHECKS,
)
"""Every check there is."""

SWEEP_WEIGHT = 20.0
"""A sweep draws every layer: so many times the work of one of the other checks."""


@dataclass(frozen=True, slots=True)
class Report:
    """What the checks found, in the order of `report_of`, and what was not checked."""

    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]

    @property
    def worst(self) -> Severity | None:
        """The gravest severity; None where nothing was found."""
        return self.findings[0].severity if self.findings else None

    def count(self, severity: Severity) -> int:
        """Return how many findings are of one severity."""
        return sum(1 for finding in self.findings if finding.severity is severity)


@dataclass(frozen=True, slots=True)
class _Job:
    """One function to call, and the checks it makes."""

    checks: tuple[Check, ...]
    weight: float


def run_checks(
    subject: Subject,
    on_progress: OnProgress | None = None,
    stop: Callable[[], bool] | None = None,
    start: datetime | None = None,
    checks: Sequence[Check] = CHECKS,
) -> Report:
    """Check a program.

    Parameters
    ----------
    subject
        A `viewer.program.Program`, or anything with the same columns.
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
        `stop` said so.

    Notes
    -----
    A check finds its matter or says why it did not look; nothing that goes wrong in one is caught here.
    """
    policy = policy_of(checks, subject.workshop, start)
    jobs = _jobs([check for check in checks if check.slug in policy.rules])
    total = sum(job.weight for job in jobs) or 1.0
    found: list[Outcome] = list(policy.switched_off)
    done = 0.0
    for job in jobs:
        watch = _watch(job, done / total, job.weight / total, on_progress, stop)
        watch.tell(0.0)
        rules = {check.slug: replace(policy.rules[check.slug], watch=watch) for check in job.checks}
        found.extend(_call(job, subject, rules, watch))
        done += job.weight
    if on_progress is not None:
        on_progress("done", 1.0)
    return report_of(found)


def _jobs(checks: Sequence[Check]) -> list[_Job]:
    """Put the checks of one sweep together, at the place of the first of them; sweeps come last."""
    single = [_Job((check,), 1.0) for check in checks if check.run is not None]
    swept = dict.fromkeys(check.sweep for check in checks if check.sweep is not None)
    together = [tuple(check for check in checks if check.sweep is sweep) for sweep in swept]
    return [*single, *(_Job(group, SWEEP_WEIGHT) for group in together)]


def _call(job: _Job, subject: Subject, rules: dict[str, Rule], watch: Watch) -> Iterator[Outcome]:
    check = job.checks[0]
    if check.sweep is not None:
        return check.sweep(subject, rules, watch)
    assert check.run is not None  # Check sees to it
    return check.run(subject, rules[check.slug])


def _watch(
    job: _Job, before: float, share: float, on_progress: OnProgress | None, stop: Callable[[], bool] | None
) -> Watch:
    name = job.checks[0].title if len(job.checks) == 1 else job.checks[0].theme

    def tell(part: float) -> None:
        if on_progress is not None:
            on_progress(name, min(1.0, before + share * part))

    return Watch(tell, stop or (lambda: False))


def report_of(outcomes: Sequence[Outcome]) -> Report:
    """Sort findings: the gravest first, of equals in the order of the checks, then by layer and line."""
    findings = [outcome for outcome in outcomes if isinstance(outcome, Finding)]
    place = {check.slug: number for number, check in enumerate(CHECKS)}
    findings.sort(key=lambda finding: (finding.severity.rank, place.get(finding.slug, 0), *finding.order))
    return Report(tuple(findings), tuple(o for o in outcomes if isinstance(o, NotChecked)))


def check_named(slug: str) -> Check | None:
    """Return a check by its slug; None where there is none."""
    return next((check for check in CHECKS if check.slug == slug), None)
