"""The table of panes and the table of actions name the same docks, and shares leave the picture its room."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QWidget
from shiboken6 import delete

from viewer.shown.window.actions.table import ARRANGEMENTS, DOCKS
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.panes import DOCK_PLACES, HOMES, PANES


def test_every_dock_has_a_title_a_key_and_a_home() -> None:
    assert sorted(HOMES) == sorted(DOCKS)
    names = [row.name for row in PANES]
    assert len(set(names)) == len(names)
    assert names[0] == "plot"  # it stands in the middle, and the focus begins there
    assert list(DOCK_PLACES) == list(ARRANGEMENTS)
    assert all(name in DOCKS for places in DOCK_PLACES.values() for name in places)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_docks_leave_the_picture_at_least_half_of_the_width_and_of_the_height(arrangement) -> None:
    places = DOCK_PLACES[arrangement].values()
    for side in ("left", "right"):
        assert max((place.width for place in places if place.area == side), default=0.0) <= 0.27
    across = [place for place in places if place.area in ("top", "bottom")]
    assert sum(place.height for place in across) < 0.5
    assert sum(place.height_in_high or place.height for place in across) < 0.5


def test_panes_are_made_as_the_table_says(window) -> None:
    window.add_panes()
    assert [type(pane) for pane in window.panes.in_order] == [row.make for row in PANES]
    assert {name: dock.widget() for name, dock in window.docks.items()} == {
        name: window.panes.named(name) for name in DOCKS
    }


@pytest.mark.parametrize("make", [row.make for row in PANES])
def test_a_pane_that_is_destroyed_hears_nothing_any_more(make, qtbot) -> None:
    state, window = ViewState(), QWidget()
    qtbot.addWidget(window)
    pane = make(state, window)
    assert any(state._listeners.values())
    delete(pane)
    assert not any(state._listeners.values())
