"""The filament card: what the keeper knows of one filament."""

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
    """What the keeper knows of one filament; `None` means not known."""

    name: str
    density_g_cm3: Positive
    diameter_mm: Positive | None = None
    """None: the printer card's."""
    price_per_kg: NotNegative | None = None
    nozzle_c: Window | None = None
    plate_c: Window | None = None
    melt_mm3_s: Positive | None = None
    """Most that is usually melted of it through a 0.4 mm nozzle, mm3/s."""
    abrasive: bool = False
    layer_s: NotNegative | None = None
    """Shortest layer time that lets a layer set, s."""
    spool_left_g: Annotated[float, Meta(ge=0)] | None = None
    cautions: tuple[str, ...] = ()
