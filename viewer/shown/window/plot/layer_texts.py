"""What the layer plot says in words, and where the places of moves and findings lie; no Qt."""

from __future__ import annotations

import numpy as np

from viewer.layers.layers import ROLE_NAMES
from viewer.numerals import capital
from viewer.program import Program
from viewer.read.moves import BEAD, KIND_NAMES, PRIME, RETRACT
from viewer.shown.numbers import number_text, size_text
from viewer.shown.pictures.bead_values import values_of
from viewer.shown.pictures.scene import Cells, Cut, Point, Scene
from viewer.shown.window.model.view_state import Shown, ViewState
from viewer.why.areas import IN_A, IN_B, Areas

MOST_NAMED = 3
"""So many hidden roles are named."""
HATCHED = {"only in this program (A)": IN_A, "only in the other (B)": IN_B}
"""Names in the legend of what only one of two compared programs has."""
THIN_MM = 0.1
"""Travel is outlined as if it had this width."""


def layer_text(state: ViewState) -> str:
    """Tell which layer is on show: its number, height and thickness."""
    if state.program is None:
        return "No program is open"
    if state.layer == 0:
        return "No layer: no bead is laid" if not state.partial else "No layer yet"
    layers, row = state.program.layers, state.layer - 1
    parts = [
        f"Layer {state.layer} of {len(layers)}{' read so far' if state.partial else ''}",
        f"top at {size_text(float(layers.height_mm[row]))} mm",
        f"{size_text(float(layers.thickness_mm[row]))} mm thick",
    ]
    if layers.objects > 1:
        parts.append(f"object {int(layers.object[row]) + 1} of {layers.objects}")
    if bool(layers.spiral[row]):
        parts.append("spiral: one turn")
    return " · ".join(parts)


def notice_text(state: ViewState) -> str:
    """Say where less than all is drawn."""
    notices = []
    if state.partial:
        why = "reading was stopped" if state.halted else "still reading"
        notices.append(f"{why}: only the beginning is here")
    if state.program is not None and state.moment_s is not None and state.moment_s < state.layer_seconds:
        notices.append(f"drawn up to {state.moment_s:.1f} s of {state.layer_seconds:.1f} s, the rest faint")
    if state.trial is not None:
        notices.append("times as under the trial")
    if state.program is not None and state.hidden_roles:
        notices.append(hidden_text(state.hidden_roles))
    text = "; ".join(notices)
    return capital(text)


def hidden_text(hidden: frozenset[int]) -> str:
    """Name the roles that are not drawn; of many say how many."""
    names = [ROLE_NAMES[role] for role in sorted(hidden)]
    return f"hidden: {', '.join(names)}" if len(names) <= MOST_NAMED else f"{len(names)} roles hidden"


MEASURING = "Click two points, or set them with arrows and Enter; Esc ends measuring."
HINT = "Point at a bead to see what it is; click to select it."


def point_text(point: Point) -> str:
    """Return a place on the plate."""
    return f"X {point[0]:.2f}  Y {point[1]:.2f} mm"


def cell_text(cells: Cells, point: Point) -> str:
    """Return the time spent over a place of the plate."""
    value = cells.at(point)
    return f"{number_text(value)} s/mm²" if value > 0.0 else "no time is spent here"


def pointed_texts(point: Point, cells: Cells | None) -> list[str]:
    """Return what is said of a place: where it is, and the time spent over it where the plate is coloured by that."""
    return [point_text(point)] if cells is None else [point_text(point), cell_text(cells, point)]


def line_text(state: ViewState, point: Point | None, scene: Scene | None, measuring: bool) -> str:
    """Return what is said of the place under the pointer, and of the bead there or else of the selected one.

    Parameters
    ----------
    point
        Under the pointer; None: it is elsewhere.
    scene
        The layer that is drawn; None: there is none.
    measuring
        A distance is being measured: what to do for it is said in place of a bead.
    """
    parts = [] if point is None else pointed_texts(point, None if scene is None else scene.colours.cells)
    move = state.hovered if state.hovered is not None else state.selected
    if measuring:
        parts.append(MEASURING)
    elif state.timed is not None and move is not None and move < len(state.timed.moves):
        prefix = "" if state.hovered is not None else selected_text(state, move)
        parts.append(prefix + move_text(state.timed, move))
    return "   ".join(parts) if parts or scene is None else HINT


def is_shown(state: ViewState, move: int | None) -> bool:
    """Whether a move belongs to the layer on show."""
    if state.program is None or move is None or not state.layer:
        return False
    return int(state.program.layers.of_moves([move])[0]) == state.layer


def selected_text(state: ViewState, move: int) -> str:
    """Say before a selected move's text where it lies, if not in the layer on show."""
    if state.program is None or is_shown(state, move):
        return "selected: "
    number = int(state.program.layers.of_moves([move])[0])
    named = 1 <= number <= len(state.program.layers)
    return f"selected in layer {number}: " if named else "selected outside of the layers: "


def outline_of(program: Program | None, move: int | None) -> tuple[Point, Point, float] | None:
    """Return start, end and width of a move; None where there is none."""
    if program is None or move is None or not 0 <= move < len(program.moves):
        return None
    moves = program.moves
    x0, y0, _ = moves.start_xyz(move)
    width = THIN_MM
    if int(moves.kind[move]) == BEAD:
        width = float(values_of(program, np.array([move]), "width")[0])
    return (x0, y0), (float(moves.x_mm[move]), float(moves.y_mm[move])), width


def finding_marks(state: ViewState) -> tuple[tuple[Point, str], ...]:
    """Return place and severity of each finding in the layer on show, of all its places; the gravest last."""
    findings = () if state.report is None else state.report.findings
    here = [
        ((float(spot.place_mm[0]), float(spot.place_mm[1])), str(finding.severity))
        for finding in findings
        for spot in finding.places or (finding,)
        if spot.place_mm is not None and spot.layer == state.layer
    ]
    ranks = ("note", "look", "stop")
    return tuple(sorted(here, key=lambda mark: ranks.index(mark[1]) if mark[1] in ranks else 0))


def marked_at(scene: Scene, cut: Cut, point: Point, near_mm: float) -> int | None:
    """Return the retract or prime whose mark is nearest to a point, None where none is as near as `near_mm`."""
    best, found = near_mm * near_mm, None
    for marks in (scene.retracts, scene.primes):
        _, _, x_mm, y_mm = marks.before(cut.move)
        if len(x_mm):
            away = (x_mm - point[0]) ** 2 + (y_mm - point[1]) ** 2
            row = int(np.argmin(away))
            if float(away[row]) <= best:
                best, found = float(away[row]), int(marks.move[row])
    return found


def drawn_marks(
    scene: Scene, cut: Cut, shown: frozenset[Shown], areas: Areas | None = None
) -> tuple[str, ...]:
    """Return the names of the marks that are drawn, for the legend.

    Parameters
    ----------
    areas
        What is hatched of two programs that are compared.
    """
    hatched = () if areas is None else tuple(name for name, bits in HATCHED.items() if areas.mm2(bits) > 0.0)
    if scene.colours.cells is not None:  # the plate is coloured in place of all that
        return (*(("start of the layer",) if scene.start is not None else ()), *hatched)
    drawn = {
        "start of the layer": scene.start is not None,
        "nozzle": cut.nozzle is not None and "nozzle" in shown,
        "retract": len(scene.retracts.move) > 0 and "retracts" in shown,
        "prime": len(scene.primes.move) > 0 and "retracts" in shown,
        "travel": len(scene.travel.move) > 0 and "travel" in shown,
        "layer below": len(scene.below) > 0 and "below" in shown,
        "not laid yet": not cut.whole,
    }
    return (*(name for name, there in drawn.items() if there), *hatched)


def move_text(program: Program, move: int) -> str:
    """Tell one bead (or other move) in a line: line, role, length, width, speed reached, flow."""
    moves, row = program.moves, np.array([move])
    parts = [f"line {int(moves.line[move]):,}".replace(",", "\u202f")]
    speed, length = float(program.timing.peak_mm_s[move]), float(moves.length_mm[move])
    kind = int(moves.kind[move])
    if kind in (RETRACT, PRIME):
        return " · ".join([*parts, KIND_NAMES[kind], f"{abs(float(moves.fed_mm[move])):.2f} mm of filament"])
    if kind != BEAD:
        return " · ".join([*parts, KIND_NAMES[kind], f"{length:.2f} mm long"])
    parts.append(ROLE_NAMES[int(program.roles[move])])
    parts.append(f"{length:.2f} mm long")
    parts.append(f"{float(values_of(program, row, 'width')[0]):.2f} mm wide")
    parts.append(f"{number_text(speed)} mm/s reached")
    parts.append(f"{float(values_of(program, row, 'flow')[0]):.2f} mm³/s")
    return " · ".join(parts)
