"""The extent of a finding: drawn where the fault is, well inside of what is seen."""

from __future__ import annotations

import json

import numpy as np
import pytest
from PySide6.QtGui import QColor

from tests.window.conftest import SAMPLES, wait_until_settled
from viewer import open_program
from viewer.checks.extent import BeadRun, Measure, Region
from viewer.shown.window.plot.evidence import LEAST_SEEN_MM, evidence_in, layer_of

FAULTY = SAMPLES / "faulty"


@pytest.fixture(scope="module")
def hook():
    return open_program(SAMPLES / "coat_hook_pause.gcode")


def test_a_stretch_begins_and_ends_where_it_says(hook):
    moves = hook.moves
    own = hook.layers.moves_of(3)
    first = int(np.flatnonzero(moves.kind[own.start : own.stop - 2] == 1)[0]) + own.start
    x0, y0, _ = moves.start_xyz(first)
    length = float(moves.length_mm[first])
    run = BeadRun(3, first, first, 0.25 * length, 0.75 * length, (1, 1))
    found = evidence_in(hook, 3, (run,))
    (stretch,) = found.stretches
    dx, dy = float(moves.x_mm[first]) - x0, float(moves.y_mm[first]) - y0
    expected = [(x0 + s * dx, y0 + s * dy) for s in (0.25, 0.75)]
    assert np.allclose(stretch.points, expected, atol=1e-3)
    assert 0.2 < stretch.width_mm < 1.0
    assert evidence_in(hook, 4, (run,)) is None


def test_a_small_extent_is_seen_with_what_lies_about_it(hook):
    square = Region(2, (((10.0, 10.0), (11.0, 10.0), (11.0, 11.0)),))
    found = evidence_in(hook, 2, (square, Measure(2, (10.0, 10.0, 0.4), (11.0, 10.0, 0.4), "1.0 mm")))
    left, front, wide, deep = found.seen
    assert wide == deep == LEAST_SEEN_MM
    assert (left + 0.5 * wide, front + 0.5 * deep) == pytest.approx((10.5, 10.5))
    assert layer_of((Measure(None, (0, 0, 0), (0, 0, 0), ""), square)) == 2


@pytest.mark.parametrize(
    "name", ["long-bridge", "off-plate", "thin-feature", "gaps", "topples", "tiny-island"]
)
def test_the_view_contains_the_extent_of_the_finding(window, qtbot, name):
    window.open_path(FAULTY / f"{name}.gcode")
    wait_until_settled(window, qtbot)
    finding = next(one for one in window.state.report.findings if one.extents)
    window.panes.findings.go_to(finding)
    wait_until_settled(window, qtbot)
    view = window.panes.plot.view
    drawn = view.evidence.evidence
    assert window.state.layer == layer_of(finding.extents)
    assert drawn is not None
    seen = view.box.viewRect()
    assert all(seen.contains(*point) for point in drawn.points)
    expected = json.loads((FAULTY / "EXPECTED.json").read_text())
    assert expected  # the places themselves are compared in the tests of the checks


def test_the_rest_is_dimmed_and_escape_ends_it(window, qtbot):
    window.open_path(FAULTY / "long-bridge.gcode")
    wait_until_settled(window, qtbot)
    window.panes.findings.go_to(next(one for one in window.state.report.findings if one.extents))
    wait_until_settled(window, qtbot)
    view = window.panes.plot.view
    at = view.box.mapViewToScene(_point(90.0, 115.2)).toPoint()  # an outline beside the bridge
    dimmed = QColor(view.grab().toImage().pixel(at))
    window.actions_by_id["no-bead"].trigger()
    wait_until_settled(window, qtbot)
    assert window.state.evidence == ()
    assert view.evidence.evidence is None
    assert QColor(view.grab().toImage().pixel(at)).lightness() != dimmed.lightness()


def _point(x: float, y: float):
    from PySide6.QtCore import QPointF

    return QPointF(x, y)
