"""The way through the dearest places: of the cause that is looked at, or any place; no Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from viewer.shown.window.model.view_state import ViewState

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.why.places import Place

MARGIN_MM: Final = 1.0
"""Between the moves of a place and the frame about them."""
LAYERS: Final = 500
"""The frame is there in so many layers below and above the dearest move."""


def show_place(state: ViewState, number: int) -> None:
    """Go to one of the dearest places of the cause that is looked at, from 0; to the nearest there is."""
    places = () if state.times is None else state.times.places
    if not places:
        return
    number = min(max(number, 0), len(places) - 1)
    with state.together():
        state.place = number
        state.tell("place")
        go_to_place(state, places[number])


def step_place(state: ViewState, by: int) -> None:
    """Go to the next (1) or previous (-1) of the dearest places of the cause that is looked at."""
    at = state.place if state.place is not None else -1 if by > 0 else 1
    show_place(state, at + by)


def go_to_place(state: ViewState, place: Place) -> None:
    """Show the layer of a place's dearest move, and frame where on the plate the place lies."""
    from viewer.checks.extent import Region

    if state.program is None:
        return
    with state.together():
        state.selected = None  # of the same move, too, the layer comes on show
        state.select(place.dearest_move)
        (left, right), (front, back) = place.x_mm, place.y_mm
        left, right, front, back = left - MARGIN_MM, right + MARGIN_MM, front - MARGIN_MM, back + MARGIN_MM
        corners = (left, front), (right, front), (right, back), (left, back)
        first = max(place.first_layer, state.layer - LAYERS, 1)
        last = min(place.last_layer, state.layer + LAYERS, state.layers)
        state.show_evidence(tuple(Region(number, (corners,)) for number in range(first, last + 1)), "place")
