"""Regions of masks against scipy.ndimage."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.ndimage
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from viewer.beads.regions import dilated, find_regions, label_cells

seeds = st.integers(0, 2**32 - 1)


def random_grid(seed: int, rows: int = 14, columns: int = 19) -> NDArray[np.uint8]:
    rng = np.random.default_rng(seed)
    return (rng.random((rows, columns)) < rng.choice([0.1, 0.4, 0.6, 0.9])).astype(np.uint8)


@given(seeds, st.sampled_from([0, 1]), st.sampled_from([0, 1]))
def test_regions_are_those_of_ndimage(seed: int, wanted: int, reach: int) -> None:
    grid = random_grid(seed)
    runs = find_regions(grid, wanted, reach)
    structure = np.ones((3, 3)) if reach else None
    labels, count = scipy.ndimage.label(grid == wanted, structure=structure)
    assert runs.count == count
    for i in range(len(grid)):
        for run in range(runs.first[i], runs.first[i + 1]):
            assert (labels[i, runs.begin[run] : runs.end[run]] == runs.label[run] + 1).all()
    lengths = runs.end - runs.begin
    assert lengths.sum() == (grid == wanted).sum()
    assert (lengths > 0).all()


@given(seeds)
def test_labels_and_dilation_are_those_of_ndimage(seed: int) -> None:
    grid = random_grid(seed)
    labels, count = label_cells(grid)
    expected, number = scipy.ndimage.label(grid, structure=np.ones((3, 3)))
    assert count == number
    assert np.array_equal(labels, expected)
    assert np.array_equal(dilated(grid) != 0, scipy.ndimage.binary_dilation(grid, np.ones((3, 3))))


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (9, 1)])
@pytest.mark.parametrize("value", [0, 1])
def test_masks_of_one_row_column_or_cell(shape: tuple[int, int], value: int) -> None:
    grid = np.full(shape, value, np.uint8)
    labels, count = label_cells(grid)
    assert count == value
    assert np.array_equal(labels, grid)
    assert np.array_equal(dilated(grid), grid)
