"""`Program`: all that is known of one file; `open_program` is the flow, one line a stage."""

from __future__ import annotations

import hashlib
import os
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from viewer.arrays import U8
from viewer.beads.section import Beads, layer_beads
from viewer.cards import (
    DEFAULTS,
    Cards,
    FilamentCard,
    PrinterCard,
    WorkshopCard,
    load_filament,
    load_printer,
    load_workshop,
)
from viewer.errors import ReadError, Stopped
from viewer.failures import failure_told
from viewer.figures.figures import Figures, collect
from viewer.figures.first_layer import FirstLayer, first_layer
from viewer.figures.made_for import MadeFor, made_for
from viewer.figures.standing import Standing, standing
from viewer.figures.tables import Totals, tabulate
from viewer.layers.layers import Layers
from viewer.layers.naming import RolesFrom, name_roles
from viewer.layers.spacing import LateSpacing, Spacing
from viewer.layers.split import split_layers
from viewer.progress import OnProgress, Stop
from viewer.read.blocks import Source, open_source
from viewer.read.comments.remarks import Remarks, read_remarks
from viewer.read.dialect_commands import unknown_commands
from viewer.read.events import Events
from viewer.read.machine_state import MachineState, read_machine_state
from viewer.read.mode_changes import ModeChanges
from viewer.read.moves import Moves
from viewer.read.notes import Notes
from viewer.read.scan import Scanner, Tally, scan_source
from viewer.read.settings import Settings, build_settings
from viewer.read.texts import Texts
from viewer.shape import ShapeColumns
from viewer.shape.widths import BeadWidths, judge_widths, median_width_mm
from viewer.timing import Plan, Timing, plan_motion, plan_time
from viewer.units import filament_area_mm2


@dataclass(frozen=True, eq=False)
class Program:
    """All that is known of one file under one set of cards."""

    source: Source
    cards: Cards
    moves: Moves
    events: Events
    notes: Notes
    tally: Tally
    remarks: Remarks
    settings: Settings
    layers: Layers
    late_spacing: LateSpacing
    roles: U8
    """(moves,) numbers as in `viewer.layers.layers.ROLE_NAMES`."""
    roles_from: RolesFrom
    timing: Timing
    totals: Totals
    texts: Texts
    state: MachineState
    modes: ModeChanges

    @property
    def path(self) -> Path:
        """The file as the user named it."""
        return self.source.path

    @property
    def printer(self) -> PrinterCard:
        """The printer it is to run on."""
        return self.cards.printer

    @property
    def filament(self) -> FilamentCard:
        """The filament it is to be printed with."""
        return self.cards.filament

    @property
    def workshop(self) -> WorkshopCard:
        """The place it is to be printed at."""
        return self.cards.workshop

    @property
    def filament_diameter_mm(self) -> float:
        """The filament card's, or else the printer's."""
        return self.cards.filament_diameter_mm

    @property
    def shape_columns(self) -> ShapeColumns:
        """What `viewer.shape.shape_of` measures the shape from."""
        return ShapeColumns(
            moves=self.moves, settings=self.settings, layers=self.layers, roles=self.roles,
            roles_from=self.roles_from, nozzle_mm=self.printer.nozzle_mm,
            filament_diameter_mm=self.filament_diameter_mm, widths=self.widths,
        )  # fmt: skip

    @property
    def spacing(self) -> Spacing:
        """How far apart the beads lie that touch one another."""
        return self.late_spacing.found

    @cached_property
    def widths(self) -> BeadWidths:
        """How wide the beads are: as computed, or as their spacing tells where that leaves a doubt."""
        diameter = self.filament_diameter_mm
        thickness = float(np.median(self.layers.thickness_mm)) if len(self.layers) else 0.0
        computed = median_width_mm(self.moves, self.layers, self.roles, diameter)
        return judge_widths(computed, thickness, self.printer.nozzle_mm, diameter, lambda: self.spacing)

    @cached_property
    def first_layer(self) -> FirstLayer:
        """Areas and islands of what lies on the plate (drawn on a grid when first asked for)."""
        diameter = self.widths.drawn_diameter_mm(self.filament_diameter_mm)
        return first_layer(self.moves, self.layers, self.roles, self.printer.plate, diameter)

    @cached_property
    def standing(self) -> tuple[Standing, ...]:
        """How far each body must tilt to topple."""
        return standing(self.moves, self.layers, self.roles, self.first_layer)

    @cached_property
    def figures(self) -> Figures:
        """Everything that the window, the console and the job sheet show; a part that fails of itself is told in it."""
        first, standing, failures = self._parts()
        return collect(
            totals=self.totals,
            timing=self.timing,
            events=self.events,
            layers=self.layers,
            first=first,
            standing=standing,
            remarks=self.remarks,
            arcs=self.tally.arcs,
            cards=self.cards,
            failures=failures,
        )

    def _parts(self) -> tuple[FirstLayer | None, tuple[Standing, ...], dict[str, str]]:
        """Return first layer and standing, and by part the sentence on what failed; the one stands on the other."""
        first: FirstLayer | None = None
        try:
            first = self.first_layer
            return first, self.standing, {}
        except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
            what = "the measuring of the first layer" if first is None else "the computation of the tilt"
            told = failure_told("computed", what, problem)
            return (
                first,
                (),
                {"standing": told} if first is not None else dict.fromkeys(("first_layer", "standing"), told),
            )

    @cached_property
    def made_for(self) -> MadeFor:
        """What the settings in its comments say that it was made for."""
        return made_for(self.remarks.statements, self.totals.drawn_by_tool_mm)

    @cached_property
    def sha256(self) -> str:
        """Of the plain bytes.

        Raises
        ------
        ReadError
            When the file is gone or another one by now.
        """
        with self.source.again() as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    @property
    def unknown_commands(self) -> dict[str, int]:
        """Commands that were not interpreted, in numbers and in words, and how often."""
        in_words = {name: found.count for name, found in self.remarks.word_commands.items()}
        return unknown_commands(self.tally.commands) | in_words

    def beads_of(self, number: int) -> Beads:
        """Return the beads of layer `number` (from 1) for drawing."""
        return layer_beads(self.moves, self.layers, number, self.filament_diameter_mm)

    def close(self) -> None:
        """Delete the temporary copy of a packed or piped program; its lines cannot be fetched any more."""
        self.source.close()


def open_program(
    path: str | os.PathLike[str],
    printer: PrinterCard | str | Path | None = None,
    filament: FilamentCard | str | Path | None = None,
    workshop: WorkshopCard | str | Path | None = None,
    on_progress: OnProgress | None = None,
    stop: Stop | None = None,
) -> Program:
    """Read a program and compute its columns, layers and times.

    Parameters
    ----------
    path
        Of a program, plain or gzip; ``-`` reads standard input.
    printer, filament, workshop
        Cards, their names, or paths of TOML files; None: the bundled default.
    on_progress
        Called with the stage's name and the share of it that is done.
    stop
        Asked often; when it says so, `Stopped` is raised within some tenths of a second.

    Raises
    ------
    ReadError
        The file is missing, unreadable, empty or no text.
    CardError
        A card is not valid.
    Stopped
        `stop` said so.

    Examples
    --------
    >>> program = open_program("sample_programs/tap_washer_tray.gcode")
    >>> program.figures.layers.count > 0
    True
    """
    cards = Cards(
        printer if isinstance(printer, PrinterCard) else load_printer(printer or DEFAULTS["printer"]),
        filament if isinstance(filament, FilamentCard) else load_filament(filament or DEFAULTS["filament"]),
        workshop if isinstance(workshop, WorkshopCard) else load_workshop(workshop or DEFAULTS["workshop"]),
    )
    source = open_source(path)
    try:
        return _read(source, cards, on_progress, stop)
    except BaseException:
        source.close()
        raise


PREVIEW_BYTES = 2 << 20
"""The beginning that `preview` reads first; doubled until it holds a whole layer."""


def preview(
    path: str | os.PathLike[str],
    printer: PrinterCard,
    filament: FilamentCard,
    workshop: WorkshopCard,
    stop: Stop | None = None,
) -> Program | None:
    """Read the beginning of a large program, up to where at least its first layer is whole.

    Parameters
    ----------
    path
        Of a program.
    printer, filament, workshop
        Cards.
    stop
        As in `open_program`.

    Returns
    -------
    Program or None
        All columns and figures speak of the beginning only, and its last layer may lack beads. None where a
        beginning gains nothing: the file is small, packed or a stream, or holds no whole layer early on.

    Raises
    ------
    ReadError, Stopped
    """
    cards = Cards(printer, filament, workshop)
    size = PREVIEW_BYTES
    if not _is_plain_and_large(Path(path), 2 * size):
        return None
    source = open_source(path)
    while size < source.size_bytes:
        scanner = _scan_beginning(source, printer, size, stop)
        found = _understand(source, scanner, cards, _tell_nobody, stop)
        if len(found.layers) > 1:
            return found
        size *= 2
    return None


def _tell_nobody(_stage: str, _share: float) -> None:
    """Take progress that nobody asked for."""


def _is_plain_and_large(path: Path, size: int) -> bool:
    try:
        if not path.is_file() or path.stat().st_size < size:
            return False
        with path.open("rb") as file:
            return file.read(2) != b"\x1f\x8b"
    except OSError:
        return False  # whoever opens the program is told what is wrong with it


def _scan_beginning(source: Source, printer: PrinterCard, size: int, stop: Stop | None) -> Scanner:
    """Read about `size` bytes."""
    fed: list[Scanner] = []

    def enough() -> bool:
        return bool(fed) or (stop is not None and stop())

    beginning = replace(source, size_bytes=size)
    with suppress(Stopped):
        scan_source(beginning, printer, lambda _share, scanner: fed.append(scanner), enough, block_bytes=size)
    _ask(stop)
    return fed[0]


def _read(source: Source, cards: Cards, on_progress: OnProgress | None, stop: Stop | None) -> Program:
    tell = on_progress or _tell_nobody
    scanner = scan_source(source, cards.printer, lambda share, _scanner: tell("reading", share), stop)
    if not scanner.has_commands and not scanner.has_word_commands:
        raise ReadError(f"{source.path} holds no G-code command; see whether the right file was picked.")
    return _understand(source, scanner, cards, tell, stop)


def _understand(
    source: Source, scanner: Scanner, cards: Cards, tell: OnProgress, stop: Stop | None
) -> Program:
    printer = cards.printer
    moves, events, notes, modes, tally, index = scanner.finish()
    _ask(stop)
    tell("comments", 0.0)
    remarks = read_remarks(notes, events, source, cards.workshop.words)
    state = read_machine_state(
        events, remarks.limits, len(moves), one_nozzle=printer.tools == 1, first_fed=_first_fed(moves)
    )
    settings = build_settings(events, remarks, len(moves), state)
    _ask(stop)
    with ThreadPoolExecutor(1) as beside:  # kernels run without the interpreter lock: two stages at a time
        planning = beside.submit(plan_motion, moves, events, state, settings, printer)
        tell("layers", 0.0)
        layers = split_layers(moves, remarks.layers)
        spacing = LateSpacing(moves, layers)
        roles, roles_from = name_roles(moves, layers, remarks, spacing, printer.nozzle_mm)
        _ask(stop)
        tell("time", 0.0)
        motion = planning.result()
        _ask(stop)
        summing = beside.submit(sum_up, moves, settings, layers, roles, motion.plan, cards)
        timing = plan_time(moves, events, state, settings, layers, roles, printer, motion)
        totals = summing.result()
    tell("done", 1.0)
    return Program(
        source=source,
        cards=cards,
        moves=moves,
        events=events,
        notes=notes,
        tally=tally,
        remarks=remarks,
        state=state,
        modes=modes,
        settings=settings,
        layers=layers,
        late_spacing=spacing,
        roles=roles,
        roles_from=roles_from,
        timing=timing,
        totals=totals,
        texts=Texts(source, index, tally.lines),
    )


def _ask(stop: Stop | None) -> None:
    if stop is not None and stop():
        raise Stopped


def sum_up(
    moves: Moves, settings: Settings, layers: Layers, roles: U8, planned: Plan | Timing, cards: Cards
) -> Totals:
    """Return the sums over all moves of a program, whose times and peak speeds are those of `planned`."""
    area = filament_area_mm2(cards.filament_diameter_mm)
    return tabulate(moves, settings, layers, roles, planned.time_s, planned.peak_mm_s, area)


_READING_KEYS = (
    *("homing", "retract_mm", "retract_mm_s", "bare_axis_words", "e_follows_g90"),
    *("nozzle_mm", "filament_diameter_mm"),
)


def with_cards(
    program: Program,
    printer: PrinterCard | None = None,
    filament: FilamentCard | None = None,
    workshop: WorkshopCard | None = None,
) -> Program:
    """Return the same program under other cards; the file is read again only where its reading depends on them.

    Raises
    ------
    ReadError
        When the file must be read again and is gone.
    """
    cards = Cards(printer or program.printer, filament or program.filament, workshop or program.workshop)
    if not _is_read_alike(cards, program.cards):
        return _read(program.source, cards, None, None)
    program = _with_nozzles(program, one_nozzle=cards.printer.tools == 1)
    moves, settings, layers, roles = program.moves, program.settings, program.layers, program.roles
    timing = program.timing
    if cards.printer != program.printer:
        timing = plan_time(moves, program.events, program.state, settings, layers, roles, cards.printer)
    totals = sum_up(moves, settings, layers, roles, timing, cards)
    return replace(program, cards=cards, timing=timing, totals=totals)


def _with_nozzles(program: Program, *, one_nozzle: bool) -> Program:
    """Return the program with the heat targets of a machine with one nozzle, or with one for each tool."""
    if program.state.one_nozzle == one_nozzle:
        return program
    moves, limits = len(program.moves), program.remarks.limits
    fed = program.state.first_fed
    state = read_machine_state(program.events, limits, moves, one_nozzle=one_nozzle, first_fed=fed)
    settings = build_settings(program.events, program.remarks, moves, state)
    return replace(program, state=state, settings=settings)


def _first_fed(moves: Moves) -> int:
    """Return the first move that feeds filament, the number of moves where none does."""
    fed = moves.fed_mm > 0.0
    return int(np.argmax(fed)) if fed.any() else len(moves)


def _is_read_alike(one: Cards, other: Cards) -> bool:
    """Tell whether a file has the same columns under both sets of cards."""
    same_words = one.workshop.words == other.workshop.words
    return same_words and all(
        getattr(one.printer, key) == getattr(other.printer, key) for key in _READING_KEYS
    )
