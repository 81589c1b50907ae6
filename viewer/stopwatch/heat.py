"""The block of heat, on request: from a cold heater to a mild target, nothing moving."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from viewer.cards.printer import PrinterCard
from viewer.errors import BeadlineError

Heater = Literal["nozzle", "plate"]
TARGET_C: Final = {"nozzle": 120.0, "plate": 50.0}
"""High enough to time, below what lets filament run out of the nozzle (common practice, no source)."""
LEAST_RISE_C: Final = 15.0


@dataclass(frozen=True, slots=True)
class HeatBlock:
    """What is heated, and to what."""

    heater: Heater
    target_c: float
    room_c: float
    expected_s: float
    """By the card's rate, from the room's temperature."""

    @property
    def words(self) -> str:
        """What is seen in it."""
        return f"the {self.heater} warms from {self.room_c:g} to {self.target_c:g} degC, nothing moves"

    def rate(self, seconds: float) -> float:
        """Return the mean rate, degC/s, of a heater that took so long."""
        return (self.target_c - self.room_c) / seconds


def heat_block(card: PrinterCard, heater: Heater) -> HeatBlock:
    """Return the block that times a heater.

    Raises
    ------
    BeadlineError
        The card allows no target that is warm enough.
    """
    heat = card.heat
    most = heat.nozzle_max_c if heater == "nozzle" else heat.plate_max_c
    target = TARGET_C[heater] if most is None else min(TARGET_C[heater], most)
    rise = target - heat.room_c
    if rise < LEAST_RISE_C:
        raise BeadlineError(
            f"The card of {card.name} lets its {heater} become no warmer than {target:g} degC in a room of "
            f"{heat.room_c:g} degC: too little to time."
        )
    rate = heat.nozzle_warming_c_s if heater == "nozzle" else heat.plate_warming_c_s
    return HeatBlock(heater, target, heat.room_c, rise / rate)
