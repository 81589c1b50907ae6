"""What must be read before the test is run."""

from __future__ import annotations

from typing import Final

CAUTION: Final = (
    "The axes move quickly and without warning, and homing brings the nozzle down to the plate.",
    "Take everything off the plate, and see that nothing stands in the way of head, plate, belts and cables.",
    "Keep hands, hair and tools out of the machine while it moves.",
    "Stay beside it with a hand at the switch, and switch off when anything sounds or looks wrong.",
    "The machine's manual and the rules of the place have the last word: where they ask for less, do not run this.",
)
"""One calm sentence each."""
HEAT_CAUTION: Final = (
    "The last block heats the {heater} to {target:g} degC: do not touch it then or for some time after, and stay until "
    "it is cold."
)
