"""From the time that somebody was told to the time that it takes, or took: the steps between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from viewer.program import Program
from viewer.timing.limiters import Limiters
from viewer.why.assumptions import PARTS, Parts, Tried, closest, fits, parts_of, try_assumptions
from viewer.why.ledger import limiters_of_program

CLAIM_OFF: Final = "the assumption's own difference"
"""Step from the expected time to what comes out under the closest assumption."""
REMAINDER: Final = "not explained"
"""Step from the computed time to the one that it took."""

Origin = Literal["claim", "given", "none"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way, in s; below 0: less."""

    name: str
    """`CLAIM_OFF`, one of `PARTS`, or `REMAINDER`."""
    seconds: float


@dataclass(frozen=True, slots=True)
class Overrun:
    """How one comes from an expected time to the computed one, and on to the one that it took."""

    expected_s: float | None
    """None: the program states no time, and none was given."""
    expected_from: Origin
    line: int
    """Of the claim; 0: it is none."""
    computed_s: float
    actual_s: float | None
    """None: nobody said how long it took."""
    parts_s: Parts
    """What the computed time is made of."""
    tried: tuple[Tried, ...]
    base: Tried | None
    """The assumption that comes closest to the expected time; None: there is none to compare with."""
    reproduces: bool
    """Whether it reproduces it."""
    steps: tuple[Step, ...]
    """From the expected time to the actual one, or else to the computed one; they add up to the difference."""

    @property
    def remainder_s(self) -> float | None:
        """What the computed time does not explain of the actual one, s; None: nobody said how long it took."""
        return None if self.actual_s is None else self.actual_s - self.computed_s


def overrun(
    program: Program,
    expected_s: float | None = None,
    took_s: float | None = None,
    limiters: Limiters | None = None,
) -> Overrun:
    """Compute the steps between an expected and an actual time.

    Parameters
    ----------
    program
        As it was opened.
    expected_s
        What somebody was told, s; None: what the program itself claims.
    took_s
        How long it took, s; None: not known.
    limiters
        From `limiters_of_program`, where that was done already.
    """
    limiters = limiters or limiters_of_program(program)
    line, origin = 0, "given" if expected_s is not None else "none"
    if expected_s is None:
        claims = [claim for claim in program.remarks.claims if claim.claim.quantity == "time_s"]
        if claims and claims[0].claim.amount > 0.0:
            expected_s, line, origin = claims[0].claim.amount, claims[0].line, "claim"
    parts = parts_of(program, limiters)
    tried = try_assumptions(program, limiters)
    base = None if expected_s is None else closest(tried, expected_s)
    computed_s = program.timing.total_s
    return Overrun(
        expected_s=expected_s,
        expected_from=origin,  # type: ignore[arg-type] # one of the three words above
        line=line,
        computed_s=computed_s,
        actual_s=took_s,
        parts_s=parts,
        tried=tried,
        base=base,
        reproduces=base is not None and expected_s is not None and fits(base, expected_s),
        steps=_steps(expected_s, base, parts, computed_s, took_s),
    )


def _steps(
    expected_s: float | None, base: Tried | None, parts: Parts, computed_s: float, took_s: float | None
) -> tuple[Step, ...]:
    """Return the steps; those of 0 s are left out."""
    steps = []
    if expected_s is not None and base is not None:
        steps.append(Step(CLAIM_OFF, base.total_s - expected_s))
        steps += [Step(name, parts[name] - base.parts_s[name]) for name in PARTS]
    if took_s is not None:
        steps.append(Step(REMAINDER, took_s - computed_s))
    return tuple(step for step in steps if step.seconds != 0.0)
