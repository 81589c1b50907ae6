"""What can be chosen of a picture: the meaning of its colours, and the parts of it that are shown."""

from __future__ import annotations

from typing import Final, Literal

Colouring = Literal[
    "role",
    "speed",
    "flow",
    "width",
    "thickness",
    "time",
    "braking",
    "lost",
    "cause",
    "layer map",
    "program map",
]
COLOURINGS: Final[dict[Colouring, str]] = {
    "role": "what the bead is for",
    "speed": "speed reached, mm/s",
    "flow": "flow, mm³/s",
    "width": "width, mm",
    "thickness": "thickness, mm",
    "time": "when in the layer, s",
    "braking": "share of the time spent speeding up and braking",
    "lost": "share of the time lost against the commanded speed",
    "cause": "seconds it takes, or of the chosen cause",
    "layer map": "seconds per mm² of the plate, in this layer",
    "program map": "seconds per mm² of the plate, in all layers",
}
WIDTH_PX: Final = 1200
"""Of a picture of the whole part, where none is asked for."""
MAPS: Final = ("layer map", "program map")
"""Colourings of the plate, not of beads."""
TIMED: Final = ("speed", "flow", "time", "braking", "lost", "cause", *MAPS)
"""Colourings that show what a plan of the motion says: under a trial they are others."""
Shown = Literal["travel", "retracts", "below", "plate", "nozzle", "marks"]
SHOWN: Final[dict[Shown, str]] = {
    "travel": "travel, thin",
    "retracts": "where filament is pulled back and fed again",
    "below": "the layer below, as a shadow",
    "plate": "the plate's outline",
    "nozzle": "where the nozzle is at the chosen moment",
    "marks": "places of findings",
}
