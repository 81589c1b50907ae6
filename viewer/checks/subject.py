"""`Subject`: what a check may ask of an analysed program.

Checks stand before `viewer.program` in the tree, so they name what they use instead of importing it;
`viewer.program.Program` has all of this.
"""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from viewer.arrays import U8
from viewer.cards import FilamentCard, PrinterCard, WorkshopCard
from viewer.figures.figures import Figures
from viewer.figures.first_layer import FirstLayer
from viewer.figures.standing import Standing
from viewer.figures.tables import Totals
from viewer.layers.layers import Layers
from viewer.layers.naming import RolesFrom
from viewer.read.blocks import Source
from viewer.read.comments.remarks import Remarks
from viewer.read.events import Events
from viewer.read.moves import Moves
from viewer.read.notes import Notes
from viewer.read.scan import Tally
from viewer.read.settings import Settings
from viewer.read.texts import Texts
from viewer.timing import Timing


class Subject(Protocol):
    """One program under one set of cards; see `viewer.program.Program` for what each of these is."""

    @property
    def path(self) -> Path: ...  # noqa: D102 - named as in Program, described there
    @property
    def source(self) -> Source: ...  # noqa: D102
    @property
    def printer(self) -> PrinterCard: ...  # noqa: D102
    @property
    def filament(self) -> FilamentCard: ...  # noqa: D102
    @property
    def workshop(self) -> WorkshopCard: ...  # noqa: D102
    @property
    def moves(self) -> Moves: ...  # noqa: D102
    @property
    def events(self) -> Events: ...  # noqa: D102
    @property
    def notes(self) -> Notes: ...  # noqa: D102
    @property
    def tally(self) -> Tally: ...  # noqa: D102
    @property
    def remarks(self) -> Remarks: ...  # noqa: D102
    @property
    def settings(self) -> Settings: ...  # noqa: D102
    @property
    def layers(self) -> Layers: ...  # noqa: D102
    @property
    def roles(self) -> U8: ...  # noqa: D102
    @property
    def roles_from(self) -> RolesFrom: ...  # noqa: D102
    @property
    def timing(self) -> Timing: ...  # noqa: D102
    @property
    def totals(self) -> Totals: ...  # noqa: D102
    @property
    def texts(self) -> Texts: ...  # noqa: D102
    @property
    def filament_diameter_mm(self) -> float: ...  # noqa: D102
    @property
    def first_layer(self) -> FirstLayer: ...  # noqa: D102
    @property
    def standing(self) -> tuple[Standing, ...]: ...  # noqa: D102
    @property
    def figures(self) -> Figures: ...  # noqa: D102
    @property
    def unknown_commands(self) -> dict[str, int]: ...  # noqa: D102
