"""The workshop card's word on the checks: which are off, and the limit and severity of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from viewer.cards import WorkshopCard
from viewer.checks.finding import Check, NotChecked, Rule, Severity
from viewer.errors import CardError
from viewer.nearest import nearest_name


@dataclass(frozen=True, slots=True)
class Policy:
    """What to run under which rule, and what not."""

    rules: Mapping[str, Rule]
    """By slug, of the checks that are on."""
    switched_off: tuple[NotChecked, ...]


def policy_of(
    checks: Sequence[Check],
    workshop: WorkshopCard,
    start: datetime | None = None,
    known: Sequence[Check] = (),
) -> Policy:
    """Apply a workshop card to the checks.

    Parameters
    ----------
    start
        When the print starts; None: not known.
    known
        Further checks that the card may name, which are not made now.

    Raises
    ------
    CardError
        The card names a check that does not exist, or moves a limit where there is none.
    """
    _refuse_unknown((*checks, *known), workshop)
    rules: dict[str, Rule] = {}
    off: list[NotChecked] = []
    for check in checks:
        word = workshop.checks.get(check.slug)
        if word is not None and word.off:
            reason = word.reason.strip().rstrip(".") or "no reason is given"
            sentence = f"Switched off in the workshop card of {workshop.name}: {reason}."
            off.append(NotChecked(check.slug, sentence))
            continue
        severity = None if word is None else word.severity
        limit = None if word is None else word.limit
        rules[check.slug] = Rule(
            severity=check.severity if severity is None else Severity(severity),
            limit=check.limit if limit is None else limit,
            severity_is_set=severity is not None,
            limit_is_set=limit is not None,
            start=start,
        )
    return Policy(rules, tuple(off))


def _refuse_unknown(checks: Sequence[Check], workshop: WorkshopCard) -> None:
    known = {check.slug: check for check in checks}
    for slug, word in workshop.checks.items():
        if slug not in known:
            near = nearest_name(slug, known)
            remedy = f"the nearest known one is `{near}`, correct the spelling"
            raise CardError(
                f"The workshop card of {workshop.name} has a rule for the check `{slug}`, which does not exist; "
                f"{remedy if near else 'correct the slug (`beadline explain` lists all) or take the rule out'}."
            )
        if word.limit is not None and not known[slug].unit:
            raise CardError(
                f"The workshop card of {workshop.name} sets `checks.{slug}.limit`, but that check has no "
                f"limit; "
                f"take the line out (`off` and `severity` may be set)."
            )
