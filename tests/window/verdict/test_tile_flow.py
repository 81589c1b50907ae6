"""Seven tiles share a width: text where it fits, question and answer always."""

from __future__ import annotations

import pytest

from viewer.shown.window.verdict.tile_flow import Flow, Heights, Need, flow_of

HEIGHTS = Heights(caption=10.0, headline=20.0, small_headline=15.0, margins=8.0)
NEED = Need(asked=60.0, briefly=30.0, headline=40.0, small_headline=35.0, words=(20.0,) * 6, blank=4.0)
"""Six words of 20: 140 in one line, 68 in two, 44 in three, 44 in four."""


def flow(width: int, highest: float = 1000.0) -> Flow:
    return flow_of([NEED] * 7, HEIGHTS, 10.0, width, highest)


@pytest.mark.parametrize(
    ("width", "highest", "rows", "asks_whole", "lines", "height"),
    [
        (7 * 79, 1000.0, 1, True, 2, 58),  # 68 + 10 each, and what the search of the width leaves
        (7 * 79, 57.0, 1, True, 0, 33),
        (7 * 72, 1000.0, 1, True, 3, 68),
        (7 * 56, 1000.0, 1, False, 3, 68),
        (7 * 50, 1000.0, 2, True, 2, 58),
        (7 * 50, 40.0, 1, False, 0, 33),
        (4 * 50, 40.0, 2, False, 0, 33),
        (3 * 46, 40.0, 3, False, 0, 33),
        (50, 40.0, 3, False, 0, 33),
    ],
)
def test_the_richest_way_that_fits(
    width: int, highest: float, rows: int, asks_whole: bool, lines: int, height: int
) -> None:
    found = flow(width, highest)
    assert (len(found.rows), *found[1:]) == (rows, asks_whole, lines, height)
    assert sum(map(len, found.rows)) == 7
    assert {sum(row) for row in found.rows} == {width}


def test_a_tile_has_what_it_needs_and_the_rest_is_shared() -> None:
    wide = Need(160.0, 30.0, 40.0, 35.0, (20.0,), 4.0)
    found = flow_of([wide, *[NEED] * 6], HEIGHTS, 10.0, 170 + 6 * 78 + 70, 1000.0)
    first, *others = found.rows[0]
    assert first == pytest.approx(180, abs=1) and all(other == pytest.approx(88, abs=1) for other in others)
