"""The dearest places, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from viewer.numerals import count_text, number_text, share_text
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import distance_text, duration_text
from viewer.shown.row import Row, amount
from viewer.why.places import Place

GROUP = "Costliest places"
MOST = 8


def place_rows(places: Iterable[Place], layers: int, total_s: float) -> Iterator[Row]:
    """Yield the places that take longest.

    Parameters
    ----------
    layers
        How many the program has.
    total_s
        The program's time in all.
    """
    for place in list(places)[:MOST]:
        share = share_text(place.seconds / total_s if total_s > 0.0 else 0.0)
        text = f"{duration_text(place.seconds)}, {share}: {speed_words(place)}; from line {place.line}"
        yield amount(GROUP, place_words(place, layers), place.seconds, "s", _HOW, text)


_HOW = "Moves of one kind and class of length, in a band of layers in which their time stays about the same."


def place_words(place: Place, layers: int) -> str:
    """Return what a place is: "2310 infill beads shorter than 1 mm about x 40, y 62, layers 30 to 44"."""
    if place.kind in CAUSE_WORDS and place.mean_mm == 0.0:
        return f"{place.kind}, {layer_words(place, layers)}"
    moves = f"{count_text(place.count)} {kind_words(place)}{_length_words(place)}{_region_words(place)}"
    return f"{moves}, {layer_words(place, layers)}"


def kind_words(place: Place) -> str:
    """Return what the moves of a place are."""
    if place.kind == "travel":
        return "travels" if place.count != 1 else "travel"
    if place.kind in ("retract and prime", "height changes"):
        return {"retract and prime": "retracts and primes"}.get(place.kind, place.kind)
    return f"{place.kind} beads" if place.count != 1 else f"{place.kind} bead"


def _length_words(place: Place) -> str:
    if place.shortest_mm == 0.0:
        return f" shorter than {number_text(place.longest_mm)} mm"
    if math.isinf(place.longest_mm):
        return f" from {number_text(place.shortest_mm)} mm"
    return f" of {number_text(place.shortest_mm)} to {number_text(place.longest_mm)} mm"


def _region_words(place: Place) -> str:
    """Return where on the plate a place lies, where that tells it apart from others."""
    if place.where == "all":
        return ""
    if place.where == "elsewhere":
        return " scattered over the plate"
    x, y = (f"{0.5 * sum(side):.0f}" for side in (place.x_mm, place.y_mm))
    return f" about x {x}, y {y}"


def layer_words(place: Place, layers: int) -> str:
    """Return in which layers a place lies."""
    if place.last_layer == 0:
        return "before layer 1"
    if place.first_layer > layers:
        return "after the last layer"
    if place.first_layer == place.last_layer:
        return f"layer {count_text(place.first_layer)}"
    return f"layers {count_text(place.first_layer)} to {count_text(place.last_layer)}"


def speed_words(place: Place) -> str:
    """Return way and speeds: "1.2 m of way, 13 of 60 mm/s reached on average"."""
    if place.mean_mm == 0.0:
        return f"the machine waits, line {place.line}"
    way = distance_text(place.mean_mm * place.count)
    if place.commanded_mm_s <= 0.0:
        return f"{way}, {number_text(place.mean_mm_s)} mm/s on average"
    reached, wanted = number_text(place.mean_mm_s), number_text(place.commanded_mm_s)
    return f"{way}, {reached} of {wanted} mm/s on average"
