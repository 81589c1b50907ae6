"""Layers where heights do not tell it: a spiral on a floor, and two series of heights in one program."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.checks.on_paper import opened
from tests.programs import START, loop, spiral, square
from viewer.layers.layers import Layers
from viewer.layers.split import split_layers


def split(folder: Path, text: str) -> Layers:
    program = opened(folder, text)
    return split_layers(program.moves, program.remarks.layers)


def floor(heights: list[float]) -> str:
    """Square layers of lines to and fro, which end where a spiral of radius 15 about (50, 50) begins."""
    text, e = "", 0.0
    for z in heights:
        rows = [(35.0 + 30.0 * (k % 4 in (1, 2)), 35.0 + 0.5 * (k // 2)) for k in range(120)]
        piece, e = loop([*square(30.0, 35.0, 35.0), *rows, (65.0, 50.0)], z, e)
        text += piece
    return START + text + "G92 E0\n"


@pytest.mark.parametrize("floors", [1, 3])
def test_a_spirals_ramp_begins_a_layer_of_its_own(tmp_path: Path, floors: int) -> None:
    heights = [round(0.2 * k, 3) for k in range(1, floors + 1)]
    ramp = spiral(10, thickness=0.2).replace("Z0.200", f"Z{heights[-1]:.3f}", 1)
    lines = [_raised(line, heights[-1] - 0.2) for line in ramp.split("\n")]
    layers = split(tmp_path, floor(heights) + "\n".join(lines))
    assert layers.spiral.tolist() == [False] * floors + [True] * 10
    assert layers.height_mm == pytest.approx([0.2 * k for k in range(1, floors + 11)], abs=0.006)
    assert layers.thickness_mm == pytest.approx(0.2, abs=0.006)


def _raised(line: str, by: float) -> str:
    words = [f"Z{float(w[1:]) + by:.3f}" if w.startswith("Z") and "E" in line else w for w in line.split(" ")]
    return " ".join(words)


def test_a_notch_in_a_spiral_makes_no_turn(tmp_path: Path) -> None:
    """Tabs on one side turn the direction back and forth by a whole turn: still one layer a time around."""
    tab = [(20, 0), (20, -3), (24, -3), (24, -2), (22, -2), (22, 0)]  # its lip points right
    other = [(40, 0), (40, -2), (38, -2), (38, -3), (44, -3), (44, 0)]  # and left
    outline = [(60.0, 40.0), (0.0, 40.0), (0.0, 0.0), *tab, *other, (60.0, 0.0), (60.0, 40.0)]
    points = [(50.0 + x, 50.0 + y) for x, y in outline]
    ways = [math.dist(a, b) for a, b in zip(points, points[1:] + points[1:2], strict=True)][:-1]
    whole, turns, text, e, way = sum(ways), 12, [START, f"G1 X{points[0][0]} Y{points[0][1]} Z0.3"], 0.0, 0.0
    for _ in range(turns):
        for (x, y), length in zip(points[1:], ways, strict=True):
            way, e = way + length, e + 0.03 * length
            text.append(f"G1 X{x:.3f} Y{y:.3f} Z{0.3 + 0.3 * way / whole:.3f} E{e:.5f}")
    layers = split(tmp_path, "\n".join(text) + "\n")
    assert layers.spiral.all()
    assert len(layers) in (turns, turns + 1)
    assert np.diff(layers.height_mm)[:-1] == pytest.approx(0.3, abs=0.003)


def test_two_series_of_heights_have_their_own_thickness(tmp_path: Path) -> None:
    """A part in layers of 0.3 mm and a prop beside it in layers of 0.35 mm, from a common first layer."""
    part = {round(0.35 + 0.3 * k, 3): (20.0, 50.0) for k in range(15)}
    prop = {round(0.35 + 0.35 * k, 3): (4.0, 80.0) for k in range(12)}
    text, e = START, 0.0
    for z in sorted({*part, *prop}):
        for size, x in (series[z] for series in (part, prop) if z in series):
            piece, e = loop(square(size, x), z, e)
            text += piece
    layers = split(tmp_path, text)
    heights = [round(float(z), 3) for z in layers.height_mm]
    for z, thickness in zip(heights[1:], layers.thickness_mm[1:].tolist(), strict=True):
        if z not in prop or z not in part:
            assert thickness == pytest.approx(0.3 if z in part else 0.35, abs=0.001), z


def test_thin_layers_on_each_other_stay_thin(tmp_path: Path) -> None:
    """A part whose layers are thin at a slope is one series: the distance to the layer before counts."""
    steps = [0.3] * 8 + [0.1] * 6 + [0.3] * 8
    text, e, z = START, 0.0, 0.0
    for step in steps:
        z += step
        piece, e = loop(square(20.0), z, e)
        text += piece
    assert split(tmp_path, text).thickness_mm == pytest.approx(steps, abs=0.001)
