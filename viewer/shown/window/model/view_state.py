"""What the window shows, without a window: the panes hold this state, change it and listen to it.

::

    Program ----> ViewState ----> panes (layer plot, layer strip, stats, ledger, program text, findings)
                      ^                 |
                      +--- setters -----+

All calls happen in the window's thread. A setter that changes nothing tells nobody, so panes that set
what they were just told do not chase each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final, Literal, get_args

from viewer.shown.pictures.choices import COLOURINGS as COLOURINGS
from viewer.shown.pictures.choices import SHOWN as SHOWN
from viewer.shown.pictures.choices import Colouring as Colouring
from viewer.shown.pictures.choices import Shown as Shown
from viewer.shown.window.model.announcer import TOPICS as TOPICS
from viewer.shown.window.model.announcer import Announcer
from viewer.shown.window.model.announcer import Topic as Topic
from viewer.shown.window.model.paces import USUAL_PACE

if TYPE_CHECKING:  # the window is on screen before the engine, numpy and the compiler are imported
    from viewer.checks.extent import Extent
    from viewer.checks.run import Report
    from viewer.printlog.past import Past
    from viewer.program import Program
    from viewer.why.areas import Areas
    from viewer.why.causes import Cause, CauseTimes

_NEAR: Final = 4096
AFTER_MS: Final = 60
"""Delay of a layer's figures, and of findings, after the picture, which must not wait for them; of layers that
follow each other faster only the last one's are shown."""

StripQuantity = Literal["time", "filament", "peak flow", "overhang", "causes"]
STRIP_QUANTITIES: Final[dict[StripQuantity, str]] = {
    "time": "time of the layer, s",
    "filament": "filament of the layer, mm",
    "peak flow": "highest flow in the layer, mm³/s",
    "overhang": "area that overhangs, mm²",
    "causes": "time of the layer by cause, s",
}


@dataclass(slots=True)
class ViewState(Announcer):
    """Program, layer, moment and choices; numbers of layers count from 1, 0 means there is none."""

    program: Program | None = None
    layer: int = 0
    """The layer on show."""
    moment_s: float | None = None
    """Seconds from the layer's beginning up to which it is drawn; None: all of it."""
    selected: int | None = None
    """Index of the selected move."""
    hovered: int | None = None
    """Index of the move under the pointer."""
    colouring: Colouring = "role"
    strip: StripQuantity = "time"
    shown: frozenset[Shown] = frozenset(get_args(Shown))
    hidden_roles: frozenset[int] = frozenset()
    """Roles (numbers) whose beads are not drawn."""
    lit_roles: frozenset[int] = frozenset()
    """Roles (numbers) whose beads stay bright while all others are dimmed; empty: all are bright."""
    teaching: bool = False
    """The window is arranged for a lesson: marks are large, sentences come before figures."""
    partial: bool = False
    """The program is only its beginning: the rest is not read yet."""
    halted: bool = False
    """Reading, or checking what is whole, ended before its end; nobody goes on with it by himself."""
    pace: float = USUAL_PACE
    """The pace that is chosen for playing, beside real pace."""
    playing: float = 0.0
    """Speed of play: 0 stopped, 1 real pace, 10 ten times as fast."""
    report: Report | None = None
    """What the checks found in the program on show (`viewer.checks`); None until they have all run."""
    past: Past | None = None
    """What the print log says of the program on show; it comes after the report."""
    evidence: tuple[Extent, ...] = ()
    """The extent of the finding that is looked at; () where none is, or it has none."""
    evidence_severity: str = "look"
    evidence_over_below: bool = False
    """It is about how a layer lies on the one below, which is drawn clearly then."""
    start: datetime | None = None
    """When the print is to start, if a person said so."""
    spool_left_g: float | None = None
    """What is left on the spool, if a person said so; else the filament card may know it."""
    spool_label: str = ""
    """The spool of the print log from which that is known; "" where it was typed."""
    trial: Program | None = None
    """The program on show as it would be timed under the trial; None: nothing is tried."""
    cause: Cause | None = None
    """The cause of the time that is looked at; None: all together."""
    times: CauseTimes | None = None
    """Where its seconds are; None until they are computed."""
    place: int | None = None
    """Which of its dearest places is on show, from 0."""
    areas: Areas | None = None
    """Where the program on show and another one lay filament at the layer's height; None: they are not compared."""
    _colouring_before: Colouring = "role"
    """What colours meant before a cause was looked at."""

    @property
    def layers(self) -> int:
        """How many layers there are."""
        return 0 if self.program is None else len(self.program.layers)

    @property
    def timed(self) -> Program | None:
        """The program whose times are on show: under the trial, or else as on the card."""
        return self.trial or self.program

    @property
    def layer_seconds(self) -> float:
        """Time of the layer on show, waits included."""
        if self.timed is None or self.layer == 0:
            return 0.0
        starts = self.timed.timing.moments.layer_start_s
        return float(starts[self.layer] - starts[self.layer - 1])

    def show_program(self, program: Program | None, partial: bool = False, again: bool = False) -> None:
        """Show a program (or none); layer and selection are kept where they still mean something.

        Parameters
        ----------
        partial
            It is only its beginning.
        again
            A person opened it: it begins with its first layer, also if the same file was on show before.
        """
        same_file = self.program is not None and program is not None and self.program.path == program.path
        same_file = same_file and not again
        with self.together():
            self.program = program
            self.partial = partial
            self.halted = False
            self.report = self.past = None
            self.show_evidence(())
            self.show_areas(None)
            self.trial = self.times = self.place = None
            if not same_file:
                self.look_at_cause(None)
            layer = self.layer if same_file else 1
            self.layer = min(max(layer, 1), self.layers) if self.layers else 0
            if not same_file:
                self.moment_s = self.selected = self.hovered = None
                self.playing = 0.0
                self.lit_roles = frozenset()
            elif self.selected is not None and program is not None and self.selected >= len(program.moves):
                self.selected = None
            self.tell(
                "program", "layer", "moment", "selection", "hover", "findings", "halted", "play", "lit", "trial",
                "times", "place",
            )  # fmt: skip

    def show_trial(self, trial: Program | None) -> None:
        """Show the times that the program on show would have under a trial; None: as on the card.

        A chosen moment stays at the same share of its layer's time.
        """
        if trial is self.trial:
            return
        before = self.layer_seconds
        with self.together():
            self.trial = trial
            if self.moment_s is not None and before > 0.0:
                self.moment_s = min(self.moment_s * self.layer_seconds / before, self.layer_seconds)
                self.tell("moment")
            self.tell("trial")

    def look_at_cause(self, cause: Cause | None) -> None:
        """Look at one cause of the time; None: at all of them, in the colours of before."""
        if cause == self.cause:
            return
        with self.together():
            if self.cause is None:
                self._colouring_before = self.colouring
                self.show_quantity("causes")
            elif cause is None and self.colouring == "cause":
                self.colour_by(self._colouring_before)
            self.cause, self.times, self.place = cause, None, None
            if cause is None:
                self.show_evidence(())
            self.tell("cause", "times", "place")

    def show_times(self, times: CauseTimes) -> None:
        """Show where the seconds of the cause that is looked at are: colours of moves, bars of the strip."""
        if times.cause != self.cause:
            return
        with self.together():
            if self.times is None and not times.waits:
                self.colour_by("cause")
            self.times = times
            self.tell("times")

    def show_areas(self, areas: Areas | None) -> None:
        """Show where two programs differ at the height of a layer; None ends that."""
        if areas is not self.areas:
            self.areas = areas
            self.tell("areas")

    @property
    def areas_here(self) -> Areas | None:
        """The areas of the layer on show; None where the other program has no layer of its height: all would differ."""
        there = self.areas is not None and self.areas.layer == self.layer and bool(self.areas.layers_b)
        return self.areas if there else None

    def begin_at(self, start: datetime | None) -> None:
        """Say when the print is to start; None: that is not known."""
        if start != self.start:
            self.start = start
            self.tell("start")

    def leave_on_spool(self, grams: float | None, label: str = "") -> None:
        """Say what is left on the spool, g; None: no more than the filament card knows. `label`: which of the log's."""
        if (grams, label) != (self.spool_left_g, self.spool_label):
            self.spool_left_g, self.spool_label = grams, label
            self.tell("spool")

    def halt(self, halted: bool = True) -> None:
        """Say that what was under way with the program on show ended early, or (False) that it goes on."""
        if halted != self.halted:
            self.halted = halted
            self.tell("halted")

    def show_past(self, past: Past | None) -> None:
        """Show what the print log says of the program on show."""
        if past != self.past:
            self.past = past
            self.tell("past")

    def show_report(self, report: Report | None) -> None:
        """Show what the checks found in the program on show."""
        if report is not self.report:
            self.report = report
            self.tell("findings")

    def show_evidence(
        self, extents: tuple[Extent, ...], severity: str = "look", over_below: bool = False
    ) -> None:
        """Show how far a finding reaches; () ends that."""
        shown = (self.evidence, self.evidence_severity, self.evidence_over_below)
        if (extents, severity, over_below) != shown:
            self.evidence, self.evidence_severity, self.evidence_over_below = extents, severity, over_below
            self.tell("evidence")

    def show_layer(self, number: int) -> None:
        """Show layer `number`, or the nearest there is; the whole of it."""
        number = min(max(number, 1), self.layers) if self.layers else 0
        if number != self.layer:
            with self.together():
                self.layer = number
                self.moment_s = None
                self.hover(None)  # what lay under the pointer lies in another layer
                self.tell("layer", "moment")

    def show_moment(self, seconds: float | None) -> None:
        """Draw the layer up to `seconds` from its beginning; None: all of it."""
        if seconds is not None:
            seconds = min(max(seconds, 0.0), self.layer_seconds)
        if seconds != self.moment_s:
            self.moment_s = seconds
            self.tell("moment")

    def select(self, move: int | None) -> None:
        """Select a move; its layer comes on show."""
        if self.program is None or (move is not None and not 0 <= move < len(self.program.moves)):
            move = None
        if move == self.selected:
            return
        with self.together():
            self.selected = move
            if move is not None and self.program is not None:
                number = int(self.program.layers.of_moves([move])[0])
                if 1 <= number <= self.layers and number != self.layer:
                    self.show_layer(number)
            self.tell("selection")

    def step_bead(self, by: int) -> None:
        """Select the next (1) or previous (-1) bead, from the selection or from the layer's beginning."""
        if self.program is None or self.layer == 0:
            return
        import numpy as np

        from viewer.read.moves import BEAD

        self.show_evidence(())

        kind = self.program.moves.kind
        first = int(self.program.layers.first_move[self.layer - 1])
        at = self.selected if self.selected is not None else first - (1 if by > 0 else 0)
        while (
            0 <= at + by < len(kind)
        ):  # a stretch at a time: a program has millions of moves, the next bead is near
            stretch = kind[at + 1 : at + 1 + _NEAR] if by > 0 else kind[max(0, at - _NEAR) : at][::-1]
            beads = np.flatnonzero(stretch == BEAD)
            if len(beads):
                self.select(at + by * (1 + int(beads[0])))
                return
            at += by * len(stretch)

    def select_line(self, line: int) -> None:
        """Select the first move that a line of the file makes; nothing where it makes none."""
        if self.program is None:
            return
        import numpy as np

        lines = self.program.moves.line
        at = int(np.searchsorted(lines, lines.dtype.type(line)))  # an int would copy the column to compare
        if at < len(lines) and int(lines[at]) == line:
            self.select(at)

    def hover(self, move: int | None) -> None:
        """Note the move under the pointer."""
        if move != self.hovered:
            self.hovered = move
            self.tell("hover")

    def colour_by(self, colouring: Colouring) -> None:
        """Choose what colours mean."""
        if colouring != self.colouring:
            self.colouring = colouring
            self.tell("colouring")

    def show_quantity(self, quantity: StripQuantity) -> None:
        """Choose what the bars of the layer strip mean."""
        if quantity != self.strip:
            self.strip = quantity
            self.tell("strip")

    def show_part(self, part: Shown, on: bool) -> None:
        """Show or hide a part of the picture."""
        shown = self.shown | {part} if on else self.shown - {part}
        if shown != self.shown:
            self.shown = shown
            self.tell("shown")

    def show_role(self, role: int, on: bool) -> None:
        """Show or hide the beads of a role."""
        hidden = self.hidden_roles - {role} if on else self.hidden_roles | {role}
        if hidden != self.hidden_roles:
            self.hidden_roles = hidden
            self.tell("roles")

    def light_roles(self, roles: frozenset[int]) -> None:
        """Dim the beads of all other roles; an empty set dims none."""
        if roles != self.lit_roles:
            self.lit_roles = roles
            self.tell("lit")

    def teach(self, on: bool) -> None:
        """Say whether the window is arranged for a lesson."""
        if on != self.teaching:
            self.teaching = on
            self.tell("teaching")

    def play(self, pace: float) -> None:
        """Play the layer at `pace` times real pace; 0 stops."""
        if pace != self.playing:
            self.playing = pace
            self.pace = pace or self.pace
            self.tell("play")

    def choose_pace(self, pace: float) -> None:
        """Choose how fast it plays, now or when it is played next."""
        if pace != self.pace:
            self.pace = pace
            self.playing = pace if self.playing else 0.0
            self.tell("play")

    def toggle_play(self) -> None:
        """Play at the chosen pace from the moment on show, or from the layer's beginning; or stop."""
        if self.playing:
            self.play(0.0)
        elif self.layers:
            with self.together():
                if self.moment_s is None:
                    self.show_moment(0.0)
                self.play(self.pace)
