"""Bead widths of a whole program: as computed from the filament fed, and as measured from the beads' spacing.

The width computed holds as long as filament, flow and thickness are as the cards and the program say. Where no nozzle
lays such beads the spacing (`viewer.layers.spacing`) decides, for the whole program: all areas fed are scaled so that
beads that touch fill the space between them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, U8, read_only
from viewer.layers.layers import Layers
from viewer.layers.spacing import Spacing
from viewer.read.moves import Moves
from viewer.shape.kernels import widths as k
from viewer.units import filament_area_mm2

MIN_WIDTH: Final = 0.8
MAX_WIDTH: Final = 2.0
"""Nozzle diameters: usual bead widths. Common practice, no source."""
SURELY: Final = (1.0, 1.6)
"""Nozzle diameters: computed widths between these are not compared with the spacing."""
LOW_NOZZLE: Final = 0.6
HIGH_NOZZLE: Final = 2.5
"""Nozzle diameters: a width outside of these, computed or from spacing, is not believed unless the two agree."""
THIN: Final = 0.75
"""Thicknesses: beads narrower than this do not reach the layer below. Common practice, no source."""
ALIKE: Final = 1.4
"""Spacing and filament fed that differ by less than this factor agree: flow is set off on purpose, walls overlap."""
THICK_FILAMENT_MM: Final = (2.65, 3.15)
"""Filament sold as 2.85 or 3 mm, with what spacing tells a diameter by (common practice, no source)."""
THIN_FILAMENT_MM: Final = (1.6, 1.95)
"""Filament sold as 1.75 mm, likewise."""
MAX_SCALE: Final = 30.0
"""Areas are not scaled by more, up or down: then nothing that is fed tells a width."""


@dataclass(frozen=True, slots=True)
class BeadWidths:
    """How wide the part's beads are, and whether that is known."""

    computed_mm: float | None
    """Median by path, from the filament fed; None without beads."""
    usual_mm: float
    """What beads are drawn at where their layer's own widths make no sense."""
    area_scale: float
    """Cross-sections are multiplied by this for masks; 1: drawn as computed."""
    is_known: bool
    """Whether computed width or spacing can be believed; without, shapes are not measured."""
    is_from_spacing: bool = False

    def drawn_diameter_mm(self, filament_diameter_mm: float) -> float:
        """Return the diameter of filament that makes the beads as wide as they are drawn for masks."""
        return filament_diameter_mm * float(np.sqrt(self.area_scale))


def path_by_width(moves: Moves, layers: Layers, roles: U8, filament_diameter_mm: float) -> F64:
    """Return the path length of the part's beads by their width, mm: (bins,) of `k.WIDTH_BIN_MM` each.

    The width is that of the oblong section (`viewer.beads.section`). Hold-down and purge are left out.
    """
    path = np.zeros(k.WIDTH_BINS)
    if len(layers):
        k.add_widths(
            read_only(moves.kind), read_only(roles), read_only(moves.fed_mm), read_only(moves.length_mm),
            read_only(layers.first_move), read_only(layers.thickness_mm),
            filament_area_mm2(filament_diameter_mm), path,
        )  # fmt: skip
    return path


def median_width_mm(moves: Moves, layers: Layers, roles: U8, filament_diameter_mm: float) -> float | None:
    """Return the width that half of the path of the part's beads does not exceed, mm; None where there are no beads."""
    path = path_by_width(moves, layers, roles, filament_diameter_mm)
    if not path.sum() > 0.0:
        return None
    return (float(np.searchsorted(np.cumsum(path), 0.5 * path.sum())) + 0.5) * k.WIDTH_BIN_MM


def judge_widths(
    computed_mm: float | None,
    thickness_mm: float,
    nozzle_mm: float,
    filament_diameter_mm: float,
    spacing: Callable[[], Spacing],
) -> BeadWidths:
    """Decide which width of the beads can be believed.

    Parameters
    ----------
    computed_mm
        `median_width_mm`.
    thickness_mm
        Usual thickness of the layers.
    nozzle_mm, filament_diameter_mm
        By the cards.
    spacing
        Measures the spacing; called only where the computed width leaves a doubt.

    Returns
    -------
    BeadWidths
        Widths as computed where these are usual for the nozzle, or agree with the spacing (another nozzle is fitted
        then); scaled to the spacing where only that is usual; not known else.
    """
    if computed_mm is None:
        return BeadWidths(None, nozzle_mm, 1.0, is_known=True)
    low, high = SURELY
    if low * nozzle_mm <= computed_mm <= high * nozzle_mm and computed_mm >= thickness_mm:
        return BeadWidths(computed_mm, computed_mm, 1.0, is_known=True)
    seen = spacing()
    ratio = seen.fill_ratio(filament_area_mm2(filament_diameter_mm))
    if seen.is_sure and agree(ratio):
        return BeadWidths(computed_mm, computed_mm, 1.0, is_known=True)
    usual = is_usual(computed_mm, nozzle_mm) and computed_mm >= THIN * thickness_mm
    other = is_usual(seen.width_mm, nozzle_mm) and is_other_filament(ratio, filament_diameter_mm)
    if seen.is_sure and (other or not usual) and _is_near(seen.width_mm, nozzle_mm):
        scale = ratio if 1.0 / MAX_SCALE < ratio < MAX_SCALE else 1.0
        return BeadWidths(computed_mm, seen.width_mm, scale, is_known=True, is_from_spacing=True)
    thick_enough = computed_mm >= THIN * thickness_mm
    return BeadWidths(computed_mm, computed_mm, 1.0, _is_near(computed_mm, nozzle_mm) and thick_enough)


def agree(ratio: float) -> bool:
    """Whether the space between beads and the filament fed for it (`Spacing.fill_ratio`) agree, within `ALIKE`."""
    return 1.0 / ALIKE <= ratio <= ALIKE


def is_usual(width_mm: float, nozzle_mm: float) -> bool:
    """Whether a nozzle usually lays beads of this width."""
    return MIN_WIDTH * nozzle_mm <= width_mm <= MAX_WIDTH * nozzle_mm


def _is_near(width_mm: float, nozzle_mm: float) -> bool:
    return LOW_NOZZLE * nozzle_mm <= width_mm <= HIGH_NOZZLE * nozzle_mm


def is_other_filament(ratio: float, diameter_mm: float) -> bool:
    """Whether filament of the other usual diameter would fill the space between the beads: d sqrt(ratio)."""
    other = diameter_mm * float(np.sqrt(ratio))
    return (
        is_thick(other) if not is_thick(diameter_mm) else THIN_FILAMENT_MM[0] <= other <= THIN_FILAMENT_MM[1]
    )


def is_thick(diameter_mm: float) -> bool:
    """Whether filament is of the thick kind, 2.85 or 3 mm."""
    return THICK_FILAMENT_MM[0] <= diameter_mm <= THICK_FILAMENT_MM[1]
