"""Retracts and primes while a layer is played: told where the nozzle has just made them, and for long enough."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from viewer.program import Program, open_program
from viewer.read.moves import PRIME, RETRACT
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.plot import nozzle_event
from viewer.shown.window.plot.nozzle_event import FASTEST, HELD_S, EventWatch, event_between

TRAY = Path(__file__).parents[3] / "sample_programs" / "tap_washer_tray.gcode"


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(TRAY)


def test_the_last_event_of_some_moves_is_told_with_its_length(tray: Program) -> None:
    kinds = tray.moves.kind
    retract, prime = (int(np.flatnonzero(kinds == kind)[0]) for kind in (RETRACT, PRIME))
    told = event_between(tray, retract, retract)
    assert told is not None
    assert told.kind == "retract"
    fed = abs(float(tray.moves.fed_mm[retract]))
    assert told.text == f"retract: {fed:g} mm pulled back"
    assert told.at == (float(tray.moves.x_mm[retract]), float(tray.moves.y_mm[retract]))
    both = event_between(tray, min(retract, prime), max(retract, prime))
    assert both is not None
    assert both.kind == ("prime" if prime > retract else "retract")
    bead = int(np.flatnonzero((kinds != RETRACT) & (kinds != PRIME))[0])
    assert event_between(tray, bead, bead) is None


def test_an_event_is_shown_while_it_plays_and_not_longer(
    tray: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = [100.0]
    monkeypatch.setattr(nozzle_event, "monotonic", lambda: clock[0])
    state, watch = ViewState(), EventWatch()
    state.show_program(tray)
    state.show_layer(9)
    own = tray.layers.moves_of(9)
    kinds = tray.moves.kind[own]
    at = own.start + int(np.flatnonzero(kinds == RETRACT)[0])
    assert watch.follow(state, at - 1) is None
    state.play(0.1)
    assert watch.follow(state, at - 1) is None
    told = watch.follow(state, at + 1)
    assert told is not None, "a frame may pass over the whole retract"
    assert told.kind == "retract"
    clock[0] += 0.9 * HELD_S
    assert watch.follow(state, at + 1) is told
    state.play(0.0)
    clock[0] += 10.0
    assert watch.follow(state, at + 1) is told, "a halt leaves it on show"
    state.play(0.1)
    assert watch.follow(state, at + 1) is None
    state.play(10.0 * FASTEST)
    assert watch.follow(state, at) is None, "too fast to be read"
    state.play(0.0)
