"""`Program`: all that is known of one file; `open_program` is the flow, one line a stage."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import msgspec

from viewer.arrays import U8
from viewer.beads.section import Beads, layer_beads
from viewer.cards import (
    FilamentCard,
    PrinterCard,
    WorkshopCard,
    load_filament,
    load_printer,
    load_workshop,
)
from viewer.errors import ReadError, Stopped
from viewer.figures.figures import SCHEMA, Figures, area_of_filament, collect
from viewer.figures.first_layer import FirstLayer, first_layer
from viewer.figures.standing import Standing, standing
from viewer.figures.tables import Extent, Totals, tabulate
from viewer.layers.layers import Layers
from viewer.layers.naming import RolesFrom, name_roles
from viewer.layers.split import split_layers
from viewer.read.blocks import Source, open_source
from viewer.read.comments.remarks import Remarks, read_remarks
from viewer.read.dialect_commands import unknown_commands
from viewer.read.events import Events
from viewer.read.mode_changes import ModeChanges
from viewer.read.moves import Moves
from viewer.read.notes import Notes
from viewer.read.scan import Scanner, Tally, scan_source
from viewer.read.settings import Settings, build_settings
from viewer.read.texts import Texts
from viewer.timing import Plan, Timing, plan_motion, plan_time

Progress = Callable[[str, float], None]
"""Called with the name of the stage and the share of it that is done (0 .. 1)."""
Stop = Callable[[], bool]


@dataclass(frozen=True, eq=False)
class Program:
    """All that is known of one file under one set of cards."""

    source: Source
    printer: PrinterCard
    filament: FilamentCard
    workshop: WorkshopCard
    moves: Moves
    events: Events
    notes: Notes
    tally: Tally
    remarks: Remarks
    settings: Settings
    layers: Layers
    roles: U8
    """(moves,) numbers as in `viewer.layers.layers.ROLE_NAMES`."""
    roles_from: RolesFrom
    timing: Timing
    totals: Totals
    texts: Texts
    modes: ModeChanges

    @property
    def path(self) -> Path:
        """The file as the user named it."""
        return self.source.path

    @property
    def filament_diameter_mm(self) -> float:
        """The filament card's, or else the printer's."""
        return self.filament.diameter_mm or self.printer.filament_diameter_mm

    @cached_property
    def first_layer(self) -> FirstLayer:
        """Areas and islands of what lies on the plate (drawn on a grid when first asked for)."""
        return first_layer(self.moves, self.layers, self.roles, self.printer.plate, self.filament_diameter_mm)

    @cached_property
    def standing(self) -> tuple[Standing, ...]:
        """How far each body must tilt to topple."""
        return standing(self.moves, self.layers, self.roles, self.first_layer)

    @cached_property
    def figures(self) -> Figures:
        """Everything that the window, the console and the job sheet show."""
        return collect(
            self.totals, self.timing, self.events, self.layers, self.first_layer, self.standing,
            self.remarks, self.tally.arcs, (self.printer, self.filament, self.workshop),
        )  # fmt: skip

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
    on_progress: Progress | None = None,
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
    printer_card = printer if isinstance(printer, PrinterCard) else load_printer(printer or "heron")
    filament_card = filament if isinstance(filament, FilamentCard) else load_filament(filament or "pla")
    workshop_card = workshop if isinstance(workshop, WorkshopCard) else load_workshop(workshop or "quayside")
    source = open_source(path)
    try:
        return _read(source, printer_card, filament_card, workshop_card, on_progress, stop)
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
    size = PREVIEW_BYTES
    if not _is_plain_and_large(Path(path), 2 * size):
        return None
    source = open_source(path)
    while size < source.size_bytes:
        scanner = _scan_beginning(source, printer, size, stop)
        found = _understand(source, scanner, printer, filament, workshop, lambda _stage, _share: None, stop)
        if len(found.layers) > 1:
            return found
        size *= 2
    return None


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


def _read(
    source: Source,
    printer: PrinterCard,
    filament: FilamentCard,
    workshop: WorkshopCard,
    on_progress: Progress | None,
    stop: Stop | None,
) -> Program:
    tell = on_progress or (lambda _stage, _share: None)
    scanner = scan_source(source, printer, lambda share, _scanner: tell("reading", share), stop)
    if not scanner.has_commands and not scanner.has_word_commands:
        raise ReadError(f"{source.path} holds no G-code command; see whether the right file was picked.")
    return _understand(source, scanner, printer, filament, workshop, tell, stop)


def _understand(
    source: Source,
    scanner: Scanner,
    printer: PrinterCard,
    filament: FilamentCard,
    workshop: WorkshopCard,
    tell: Progress,
    stop: Stop | None,
) -> Program:
    moves, events, notes, modes, tally, index = scanner.finish()
    _ask(stop)
    tell("comments", 0.0)
    remarks = read_remarks(notes, events, source, workshop.words)
    settings = build_settings(events, remarks, len(moves))
    _ask(stop)
    with ThreadPoolExecutor(1) as beside:  # kernels run without the interpreter lock: two stages at a time
        planning = beside.submit(plan_motion, moves, events, settings, printer)
        tell("layers", 0.0)
        layers = split_layers(moves, remarks.layers)
        roles, roles_from = name_roles(moves, layers, remarks, printer.nozzle_mm)
        _ask(stop)
        tell("time", 0.0)
        motion = planning.result()
        _ask(stop)
        summing = beside.submit(_sum_up, moves, settings, layers, roles, motion.plan, printer, filament)
        timing = plan_time(moves, events, settings, layers, roles, printer, motion)
        totals = summing.result()
    tell("done", 1.0)
    texts = Texts(source, index, tally.lines)
    return Program(
        source, printer, filament, workshop, moves, events, notes, tally, remarks, settings, layers, roles,
        roles_from, timing, totals, texts, modes,
    )  # fmt: skip


def _ask(stop: Stop | None) -> None:
    if stop is not None and stop():
        raise Stopped


def _sum_up(
    moves: Moves,
    settings: Settings,
    layers: Layers,
    roles: U8,
    planned: Plan | Timing,
    printer: PrinterCard,
    filament: FilamentCard,
) -> Totals:
    area = area_of_filament(filament.diameter_mm or printer.filament_diameter_mm)
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
    printer, filament = printer or program.printer, filament or program.filament
    workshop = workshop or program.workshop
    same_reading = all(getattr(printer, key) == getattr(program.printer, key) for key in _READING_KEYS)
    if not same_reading or workshop.words != program.workshop.words:
        return _read(program.source, printer, filament, workshop, None, None)
    timing = program.timing
    if printer != program.printer:
        timing = plan_time(
            program.moves, program.events, program.settings, program.layers, program.roles, printer
        )
    totals = _sum_up(
        program.moves, program.settings, program.layers, program.roles, timing, printer, filament
    )
    return replace(
        program, printer=printer, filament=filament, workshop=workshop, timing=timing, totals=totals
    )


def figures_object(program: Program) -> dict[str, Any]:
    """Return all figures as one plain object, the form that ``figures --json`` prints (schema version 1)."""
    figures = program.figures
    plain = msgspec.to_builtins(figures)
    extent = {
        **(_extent(figures.extent) or {"x": None, "y": None, "z": None}),
        "all": _extent(figures.extent_all),
    }
    return {
        "schema": SCHEMA,
        "program": {
            "path": str(program.path),
            "bytes": program.source.file_bytes,
            "lines": program.tally.lines,
            "sha256": program.sha256,
        },
        "printer": msgspec.to_builtins(program.printer),
        "filament_card": msgspec.to_builtins(program.filament),
        "workshop_card": msgspec.to_builtins(program.workshop),
        "moves": plain["moves"],
        "path": plain["path"],
        "extent_mm": {**extent, "moves": _extent(figures.extent_moves)},
        "filament": plain["filament"],
        "layers": plain["layers"],
        "time": plain["time"],
        "first_layer": plain["first_layer"],
        "standing": plain["standing"],
        "claims": plain["claims"],
        "notes": {"roles_from": program.roles_from, "unread": program.remarks.unread},
        "commands": program.tally.commands,
        "unknown_commands": program.unknown_commands,
        "oddities": {
            name: {"count": oddity.count, "first_line": oddity.first_line}
            for name, oddity in program.tally.oddities.items()
            if oddity.count
        },
    }


def _extent(extent: Extent | None) -> dict[str, Any] | None:
    return None if extent is None else {"x": list(extent.x), "y": list(extent.y), "z": list(extent.z)}
