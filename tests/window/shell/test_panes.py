"""The table of panes and the table of actions name the same docks, and shares leave the picture its room."""

from __future__ import annotations

from viewer.shown.window.actions.table import DOCKS
from viewer.shown.window.shell.panes import DOCK_PLACES, PANES


def test_every_dock_has_a_title_a_key_and_a_place() -> None:
    assert sorted(DOCK_PLACES) == sorted(DOCKS)
    names = [row.name for row in PANES]
    assert len(set(names)) == len(names)
    assert names[0] == "plot"  # it stands in the middle, and the focus begins there


def test_docks_leave_the_picture_at_least_half_of_the_width_and_more_than_half_of_the_height() -> None:
    places = DOCK_PLACES.values()
    assert sum(place.width for place in places) <= 0.5
    for below in ([p.height for p in places if p.area == "bottom"], [p.height_in_high for p in places]):
        assert sum(below) < 0.5
    for area in ("right", "bottom"):
        assert sum(place.height for place in places if place.area == area) <= 1.0


def test_panes_are_made_as_the_table_says(window) -> None:
    window.add_panes()
    assert [type(pane) for pane in window.panes.in_order] == [row.make for row in PANES]
    assert {name: dock.widget() for name, dock in window.docks.items()} == {
        name: window.panes.named(name) for name in DOCKS
    }
