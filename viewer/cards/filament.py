"""The filament card: what the keeper knows of one filament.

A field's description is written once, here: it is the comment beside the key when a card is written.
"""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta

from viewer.cards.printer import NotNegative, Positive


class Window(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A range of temperatures, degC."""

    low: float
    high: float


class FilamentCard(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the keeper knows of one filament; what is left out is not known, and not checked."""

    name: str
    density_g_cm3: Annotated[Positive, Meta(description="density of the solid, g/cm3")]
    diameter_mm: Annotated[
        Positive | None, Meta(description="diameter, mm; left out: the printer card's")
    ] = None
    price_per_kg: Annotated[
        NotNegative | None, Meta(description="price of 1 kg, in the workshop's currency")
    ] = None
    nozzle_c: Annotated[Window | None, Meta(description="usual nozzle temperatures, degC")] = None
    plate_c: Annotated[Window | None, Meta(description="usual plate temperatures, degC")] = None
    melt_mm3_s: Annotated[
        Positive | None,
        Meta(description="most that is usually melted of it through a 0.4 mm nozzle, mm3/s"),
    ] = None
    abrasive: Annotated[bool, Meta(description="whether it wears out a nozzle that is not hardened")] = False
    layer_s: Annotated[
        NotNegative | None, Meta(description="shortest layer time that lets a layer set, s")
    ] = None
    fan_percent: Annotated[
        NotNegative | None, Meta(description="least power of the part fan that it wants, % of full power")
    ] = None
    fan_from_layer: Annotated[
        int, Meta(ge=1, description="layer from which on it wants the part fan (with fan_percent)")
    ] = 5
    spool_left_g: Annotated[NotNegative | None, Meta(description="left on the spool, g")] = None
    cautions: Annotated[tuple[str, ...], Meta(description="sentences for whoever prints with it")] = ()

    def with_diameter(self, diameter_mm: float | None) -> FilamentCard:
        """Return the card with another diameter, mm; None: as it is."""
        return self if diameter_mm is None else msgspec.structs.replace(self, diameter_mm=diameter_mm)

    def with_spool_left(self, grams: float | None) -> FilamentCard:
        """Return the card with what a person knows to be left on the spool, g; None: as it is."""
        return self if grams is None else msgspec.structs.replace(self, spool_left_g=grams)
