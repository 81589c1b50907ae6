"""What the layer strip says in words: the layer on show, its value, its marks; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64
from viewer.checks.finding import Finding
from viewer.errors import ReadError
from viewer.program import Program
from viewer.shown.cause_words import CAUSE_GROUPS, cause_title
from viewer.shown.finding_text import readable
from viewer.shown.numbers import count_text, distance_text, duration_text, number_text, size_text
from viewer.shown.window.model.view_state import StripQuantity, ViewState
from viewer.shown.window.strip.strip_bars import MARK_KINDS, Cluster, Marks

_LISTED: Final = 6
"""Number of marks of one place that are told in full."""

NOTHING: Final[dict[StripQuantity, str]] = {
    "time": "No layer takes any time.",
    "filament": "No layer draws filament.",
    "peak flow": "No layer has a flow.",
    "overhang": "No layer overhangs by more than the angle that is checked.",
    "causes": "No layer has any time of this cause.",
}
"""Said in place of bars that are all 0."""
VALUES: Final[dict[StripQuantity, str]] = {
    "time": "takes ",
    "filament": "draws ",
    "peak flow": "flow up to ",
    "overhang": "overhangs ",
    "causes": "takes ",
}
"""What stands before the value of a layer."""


def reading_texts(state: ViewState, values: F64 | None) -> tuple[str, ...]:
    """Return which layer is on show, how high it lies and what its bar means, in several lengths, the longest first.

    Parameters
    ----------
    values
        (layers,) what the bars show; None: not known.
    """
    if state.program is None:
        return ("no program",)
    if not state.layers:
        return ("no layers",)
    number, text = count_text(state.layer), bar_text(state, values, state.layer)
    of_all = f"{number} of {count_text(state.layers)}{' read so far' if state.partial else ''}"
    texts = (f"layer {of_all} · {text}", f"{of_all} · {text}", f"{number} · {text}", text.split(" · ")[-1])
    return texts if values is None else (*texts, value_text(state.strip, float(values[state.layer - 1])))


def bar_text(state: ViewState, values: F64 | None, number: int) -> str:
    """Return a layer's height, and its value where it is known."""
    assert state.program is not None
    height = f"at {size_text(float(state.program.layers.height_mm[number - 1]))} mm"
    if values is None:
        return height
    value = value_text(state.strip, float(values[number - 1]))
    what = VALUES[state.strip]
    if state.strip == "causes" and state.cause is not None:
        what = f"{cause_title(state.cause)} "
    tried = ", under the trial" if state.trial is not None and state.strip in ("time", "causes") else ""
    return f"{height} · {what}{value}{tried}"


def stack_texts(values: F64) -> list[str]:
    """Return the seconds of each group of causes that a layer has, a line each, as they are stacked: from above.

    Parameters
    ----------
    values
        (groups,) of `CAUSE_GROUPS`.
    """
    named = zip(CAUSE_GROUPS, values.tolist(), strict=True)
    return [f"{name}: {duration_text(seconds)}" for name, seconds in reversed(list(named)) if seconds > 0.0]


def missing_text(state: ViewState, values: F64 | None) -> str | None:
    """Return the sentence that stands in place of the bars, None where there are bars."""
    if state.program is None:
        return "No program is open, so there are no layers to show."
    if not state.layers:
        return "This program lays no beads, so it has no layers."
    if values is not None:
        return None if values.any() else NOTHING[state.strip]
    if state.report is not None:
        return "The area that overhangs was not computed with these findings."
    return "The area that overhangs is computed with the findings; it is shown here when they are done."


def value_text(quantity: StripQuantity, value: float) -> str:
    """Return the value of a layer with its unit."""
    if quantity in ("time", "causes"):
        return duration_text(value)
    if quantity == "filament":
        return distance_text(value)
    return f"{number_text(value)} {'mm³/s' if quantity == 'peak flow' else 'mm²'}"


@dataclass(frozen=True, slots=True)
class MarkWords:
    """Says in words what the marks of one program mean."""

    program: Program
    marks: Marks
    findings: tuple[Finding, ...]

    def of_cluster(self, cluster: Cluster) -> list[str]:
        """Return what the marks of one place mean, a line each."""
        texts = [self.of_mark(k) for k in range(cluster.first, min(cluster.end, cluster.first + _LISTED))]
        more = cluster.end - cluster.first - len(texts)
        return [*texts, f"and {count_text(more)} more"] if more > 0 else texts

    def of_mark(self, k: int) -> str:
        """Return what one mark means."""
        program, row = self.program, int(self.marks.row[k])
        kind, where = MARK_KINDS[self.marks.kind[k]], f"layer {count_text(int(self.marks.layer[k]))}: "
        if kind in ("pause", "tool change"):
            return where + self._wait(kind, row)
        if kind != "message":
            return f"{where}{kind}: {readable(self.findings[row].sentence)}"
        line = int(program.notes.line[row])
        try:
            text = program.texts.fetch(line, 1)[0].strip()
        except ReadError as error:
            text = str(error)
        return f"{where}message, line {count_text(line)}: {text}"

    def _wait(self, kind: str, row: int) -> str:
        """Return a pause or tool change, its line and its time."""
        program, waits = self.program, self.program.timing.waits
        line = int(program.events.line[row])
        at = float(waits.start_s[np.flatnonzero(waits.event == row)[0]])
        tools = program.state.tools
        taken = tools.tool[tools.event == row].tolist()
        tool = f" to tool {taken[0]}" if taken else ""
        return f"{kind}{tool}, line {count_text(line)}, {duration_text(at)} after the start"
