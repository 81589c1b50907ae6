"""The workshop card: what holds for the place (money, hours, limits of the checks, further trade words).

A field's description is written once, here: it is the comment beside the key when a card is written.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta

from viewer.cards.printer import NotNegative

Clock = Annotated[str, Meta(pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]\Z")]

WORD_ROLES: Final = (
    "unlabelled",
    "outline",
    "inner loop",
    "infill",
    "solid",
    "bridge",
    "support",
    "hold-down",
    "purge",
)
"""The names of the roles in order of their numbers (`viewer.layers.layers`): here, because cards stand before all."""


class Hours(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """When somebody is there, hh:mm."""

    opens: Clock
    closes: Clock


class CheckRule(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The place's word on one check."""

    off: bool = False
    reason: Annotated[str, Meta(description="why it is off; shown in place of its findings")] = ""
    severity: Annotated[
        Literal["stop", "look", "note"] | None, Meta(description="stop, look or note, in place of its own")
    ] = None
    limit: Annotated[
        float | None, Meta(description="in the check's own unit; `beadline explain SLUG` names it")
    ] = None


class WorkshopCard(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What holds for the place."""

    name: str = "Workshop"
    currency: Annotated[str, Meta(description="of prices and charges")] = "EUR"
    print_log: Annotated[
        str | None, Meta(description="file of the print log, e.g. in a folder that the bench shares")
    ] = None
    charge_per_hour: Annotated[NotNegative, Meta(description="for the printer's time, in the currency")] = 0.0
    price_per_kwh: Annotated[
        NotNegative | None,
        Meta(description="of electricity, in the currency; without it only its amount is told"),
    ] = None
    hours: Hours | None = None
    checks: Annotated[
        dict[str, CheckRule], Meta(description="The place's word on a check, by its slug.")
    ] = {}
    words: Annotated[
        dict[str, str],
        Meta(
            description="Further trade words: a comment's words to a role's name ("
            + ", ".join(WORD_ROLES)
            + ")."
        ),
    ] = {}
