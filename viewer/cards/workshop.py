"""The workshop card: what holds for the place (money, hours, limits of the checks, further trade words)."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from viewer.cards.printer import NotNegative

Clock = Annotated[str, Meta(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]


class Hours(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """When somebody is there."""

    opens: Clock
    closes: Clock


class CheckRule(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The place's word on one check."""

    off: bool = False
    reason: str = ""
    """Why it is off; shown in place of its findings."""
    severity: Literal["stop", "look", "note"] | None = None
    limit: float | None = None
    """In the check's own unit; `beadline explain SLUG` names it."""


class WorkshopCard(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What holds for the place."""

    name: str = "Workshop"
    currency: str = "EUR"
    charge_per_hour: NotNegative = 0.0
    hours: Hours | None = None
    checks: dict[str, CheckRule] = {}
    """By slug."""
    words: dict[str, str] = {}
    """Further trade words: a comment's words to a role's name (outline, inner loop, infill ...)."""
