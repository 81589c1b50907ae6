"""One thing is said as one: a layer, a print, a time; never "1 layers"."""

from __future__ import annotations

import numpy as np
import pytest

from viewer.arrays import F64, I64
from viewer.shown.why_rows import value_text
from viewer.shown.window.beside.beside_rows import left_out
from viewer.shown.window.inbox.folder_list import text_of
from viewer.shown.window.inbox.folder_look import FolderState
from viewer.why.compare import LayerPairs


def _pairs(layer_a: list[int], layer_b: list[int]) -> LayerPairs:
    numbers: list[I64] = [np.array(column, dtype=np.int64) for column in (layer_a, layer_b)]
    zeros: F64 = np.zeros(len(layer_a))
    return LayerPairs(zeros, *numbers, zeros, zeros, zeros, zeros)


@pytest.mark.parametrize(
    ("layer_a", "layer_b", "said"),
    [
        ([1], [1], "1 height in both, 0 only in A, 0 only in B"),
        ([1, 2], [1, 2], "2 heights in both, 0 only in A, 0 only in B"),
        ([1, 0], [0, 1], "No layer of A has the height of a layer of B: 1 layer in A, 1 in B."),
    ],
)
def test_heights_of_two_programs(layer_a: list[int], layer_b: list[int], said: str) -> None:
    assert left_out(_pairs(layer_a, layer_b), len(layer_a)) == said


@pytest.mark.parametrize(
    ("now", "unit", "said"),
    [
        ((1.0, 1.0), "times", "1 time"),
        ((3.0, 3.0), "times", "3 times"),
        ((1.0, 3.0), "times", "1 ... 3 times"),
        ((15.0, 15.0), "mm/s", "15 mm/s"),
        ((2.0, 2.0), "", "2"),
    ],
)
def test_a_value_of_a_lever(now: tuple[float, float], unit: str, said: str) -> None:
    assert value_text(now, unit) == said


def test_programs_of_a_watched_folder() -> None:
    assert [text_of(FolderState("jobs", count)) for count in (0, 1, 2)] == [
        "jobs   0 programs", "jobs   1 program", "jobs   2 programs",
    ]  # fmt: skip
