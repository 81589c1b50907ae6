"""Compile every kernel once, so that the first real program need not wait: in two processes side by side.

The compiler works on one kernel at a time in a process. The reader's kernels and those of the figures are compiled here,
those of roles, shape and checks in a process of its own; both leave their machine code in the compiler's cache.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from viewer.arrays import F64, read_only
from viewer.jit import compiler_is_off

if TYPE_CHECKING:
    from viewer.layers.layers import Layers
    from viewer.program import Program
    from viewer.read.moves import Moves
    from viewer.read.scan import Tally

TINY = "G90\nM83\nG28\nG1 Z0.2 F600\nG1 X10 Y10 F6000\n; layer 1\nG1 X30 Y10 E0.8 F1200\nG2 X10 Y30 I-10 J0 E1\nM84\n"
PATIENCE_S = 300.0
BOX_LAYERS = 5
"""Layers of the box that kernels are compiled with: its top lies too high for the plate to carry it."""


def warm_up(other: subprocess.Popen[bytes] | None = None) -> None:
    """Compile all kernels that are not compiled yet: some 15 s on two cores at first, some tenths of a second later.

    Parameters
    ----------
    other
        The process of `compile_elsewhere` where it was started before; None: it is started here.
    """
    other = other or compile_elsewhere()
    try:
        warm_figures()
    finally:
        if other is not None and other.poll() is None:
            try:
                other.wait(PATIENCE_S)
            except BaseException:
                other.kill()
                raise
    warm_checks()  # from the cache; compiled here where the other process failed
    warm_part()


def compile_elsewhere() -> subprocess.Popen[bytes] | None:
    """Start the process that compiles the kernels of roles, shape and checks; None where there is no second core.

    It takes no module from the working folder (``-P``): others may have put files there.
    """
    if compiler_is_off() or (os.cpu_count() or 1) < 2:
        return None
    home = str(Path(__file__).resolve().parent.parent)
    code = f"import sys; sys.path.append({home!r}); from viewer.warm import compile_for; compile_for({os.getpid()})"
    try:
        return subprocess.Popen(
            [sys.executable, "-P", "-c", code],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
    except OSError:
        return None  # it goes without: all is compiled here then


def compile_for(parent: int) -> None:
    """Compile the kernels of roles, shape and checks as long as the process that asked for it lives."""

    def end_with_parent() -> None:
        while os.getppid() == parent:
            time.sleep(0.5)
        os._exit(1)

    threading.Thread(target=end_with_parent, daemon=True).start()
    warm_checks()
    warm_part()


def warm_figures() -> None:
    """Run the kernels of reading, layers, beads, timing and figures, of what limits moves, and of the plate's map."""
    from viewer.cards import load_printer
    from viewer.figures.bodies import bodies_of
    from viewer.layers.split import split_layers
    from viewer.read.blocks import open_source
    from viewer.read.scan import scan_source
    from viewer.why.ledger import limiters_of_program
    from viewer.why.plate_map import plate_map

    handle, name = tempfile.mkstemp(prefix="beadline-", suffix=".gcode")
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(TINY)
        scan_source(open_source(name), load_printer("heron")).finish()
    finally:
        Path(name).unlink(missing_ok=True)
    program = _by_hand()
    split_layers(program.moves, program.remarks.layers)
    bodies_of(program.moves, program.layers, program.roles, 0)
    _ = program.figures
    limiters_of_program(program)
    plate_map(program)
    warm_drawing(program)


def warm_drawing(program: Program) -> None:
    """Run the kernels that draw a layer and find a bead in it."""
    from viewer.beads.draw import View, draw_lines, draw_picture, nearest_bead

    beads = program.beads_of(1)
    image = np.zeros((8, 8), np.uint32)
    view = View(0.0, 40.0, 0.2)
    draw_picture(image, beads, np.zeros(len(beads), np.uint8), np.zeros(256, np.uint32), view)
    draw_lines(image, (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm), 1.0, 0, view)
    nearest_bead(10.0, 10.0, beads)


def warm_checks() -> None:
    """Run the kernels of roles from shape, and those that the checks measure with."""
    from viewer.checks.file import FILE
    from viewer.checks.run import CHECKS, run_checks
    from viewer.layers.roles import infer_roles
    from viewer.shape.path.heights import find_strikes, low_moves, tops_of

    program = _by_hand()
    infer_roles(program.moves, program.layers, 0.4)
    _ = program.spacing
    run_checks(program, checks=tuple(check for check in CHECKS if check.theme != FILE))  # the box has no file
    tops = tops_of(program.shape_columns)
    every_move = low_moves(
        program.shape_columns, tops, -1.0
    )  # no move of the box goes low, and no map would be drawn
    find_strikes(program.shape_columns, tops, every_move, -1.0)


def warm_part() -> None:
    """Run the kernels that draw the whole part: last, as nobody waits for it first."""
    from viewer.part.draw import Look, draw_part
    from viewer.part.solid import part_of
    from viewer.part.view import PartView
    from viewer.part.visible import visible_rows

    program = _by_hand()
    part = part_of(program.moves, program.layers, program.roles, program.filament_diameter_mm)
    look = Look(np.zeros(len(part), np.uint8), np.zeros((256, 3), np.uint8), np.zeros((5, 3), np.uint8))
    draw_part(part, look, PartView(), (8, 8), plate=program.printer.plate, rows=visible_rows(part))


def _by_hand() -> Program:
    """Return a box of some layers, the last of which hangs over, as a program, without the reader."""
    from viewer.cards import Cards, load_filament, load_printer, load_workshop
    from viewer.figures.tables import tabulate
    from viewer.layers.layers import OUTLINE
    from viewer.layers.spacing import LateSpacing
    from viewer.program import Program
    from viewer.read.blocks import Source
    from viewer.read.comments.remarks import Remarks
    from viewer.read.events import Events
    from viewer.read.machine_state import read_machine_state
    from viewer.read.mode_changes import no_changes
    from viewer.read.notes import Notes
    from viewer.read.settings import build_settings
    from viewer.read.texts import Texts
    from viewer.timing import plan_time
    from viewer.units import filament_area_mm2

    cards = Cards(load_printer("heron"), load_filament("pla"), load_workshop("quayside"))
    moves, layers, events, remarks = _box_moves(), _box_layers(), Events.empty(), Remarks.empty()
    roles = read_only(np.full(len(moves), OUTLINE, np.uint8))
    state = read_machine_state(events, remarks.limits, len(moves), one_nozzle=cards.printer.tools == 1)
    settings = build_settings(events, remarks, len(moves), state)
    timing = plan_time(moves, events, state, settings, layers, roles, cards.printer)
    area = filament_area_mm2(cards.printer.filament_diameter_mm)
    source = Source(Path("box"), Path("box"), 0, 0, False, (0, 0))
    return Program(
        source=source,
        cards=cards,
        moves=moves,
        events=events,
        notes=Notes.empty(),
        tally=_box_tally(len(moves)),
        remarks=remarks,
        state=state,
        modes=no_changes(),
        settings=settings,
        layers=layers,
        late_spacing=LateSpacing(moves, layers),
        roles=roles,
        roles_from="comments",
        timing=timing,
        totals=tabulate(moves, settings, layers, roles, timing.time_s, timing.peak_mm_s, area),
        texts=Texts(source, np.zeros(1, np.int64), len(moves)),
    )


def _box_moves() -> Moves:
    """Return a travel and four beads of 20 mm a layer; the last layer lies 15 mm to the right.

    The columns are read-only, as the stages hand them over: a writable array is another type to the compiler.
    """
    from viewer.read.moves import BEAD, TRAVEL, Moves

    x = np.tile(np.array([10, 30, 30, 10, 10], np.float32), BOX_LAYERS)
    x[-5:] += 15.0
    kind = np.tile(np.array([TRAVEL, BEAD, BEAD, BEAD, BEAD], np.uint8), BOX_LAYERS)
    n = len(kind)
    return Moves(
        x_mm=read_only(x),
        y_mm=read_only(np.tile(np.array([10, 10, 30, 30, 10], np.float32), BOX_LAYERS)),
        z_mm=read_only(np.repeat(_box_heights().astype(np.float32), 5)),
        length_mm=read_only(np.full(n, 20, np.float32)),
        fed_mm=read_only(np.where(kind == BEAD, 0.8, 0.0).astype(np.float32)),
        speed_mm_s=read_only(np.full(n, 40, np.float32)),
        line=read_only(np.arange(1, n + 1, dtype=np.int32)),
        kind=read_only(kind),
    )


def _box_heights() -> F64:
    return np.asarray(0.2 * np.arange(1, BOX_LAYERS + 1))


def _box_layers() -> Layers:
    from viewer.layers.layers import Layers

    return Layers(
        first_move=read_only(np.arange(0, 5 * BOX_LAYERS + 1, 5, dtype=np.int32)),
        height_mm=read_only(_box_heights()),
        thickness_mm=read_only(np.full(BOX_LAYERS, 0.2)),
        object=read_only(np.zeros(BOX_LAYERS, np.int32)),
        is_first=read_only(np.arange(BOX_LAYERS) == 0),
        spiral=read_only(np.zeros(BOX_LAYERS, np.bool_)),
    )


def _box_tally(lines: int) -> Tally:
    from viewer.read.scan import ODDITIES, Oddity, Tally

    return Tally(
        lines=lines,
        unterminated=False,
        arcs=0,
        oddities={name: Oddity(0, 0) for name in ODDITIES},
        commands={},
        first_lines={},
        checked_lines=0,
        bytes_read=0,
    )
