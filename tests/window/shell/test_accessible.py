"""What a screen reader is told: every control has a name, in an order that makes sense."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QAbstractButton, QAbstractSlider, QComboBox, QLineEdit, QScrollBar, QWidget

from tests.window.conftest import wait_until_settled
from viewer.checks.questions import Question
from viewer.shown.window.actions.table import ARRANGEMENTS

CONTROLS = (QAbstractButton, QAbstractSlider, QComboBox, QLineEdit)
PARTS = {"ScrollLeftButton", "ScrollRightButton"}
"""Parts of Qt's own widgets, which speak for them."""


def controls(window: QWidget) -> Iterator[QWidget]:
    for widget in window.findChildren(QWidget):
        inside = widget.parent()
        of_qt = widget.objectName() in PARTS or type(widget).__name__.startswith("QDockWidgetTitleButton")
        of_qt = (
            of_qt or isinstance(inside, QComboBox) or type(inside).__name__.startswith("QAbstractScrollArea")
        )
        of_qt = of_qt or widget.objectName().startswith("qt_")
        if isinstance(widget, CONTROLS) and widget.isVisibleTo(window) and not of_qt:
            yield widget


def name_of(widget: QWidget) -> str:
    told: QAccessibleInterface | None = QAccessible.queryAccessibleInterface(widget)
    assert told is not None, widget
    return told.text(QAccessible.Text.Name)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_every_control_has_a_name(opened, qtbot, arrangement):
    opened.arrange_for(arrangement)
    wait_until_settled(opened, qtbot)
    found = list(controls(opened))
    assert len(found) > 12
    nameless = [
        (
            type(one).__name__,
            one.objectName(),
            one.parentWidget().accessibleName() or type(one.parentWidget()).__name__,
        )
        for one in found
        if not name_of(one) and not isinstance(one, QScrollBar)
    ]
    assert not nameless


def test_pictures_have_names(opened, qtbot):
    for name in opened.docks:
        opened.show_dock(name)
    wait_until_settled(opened, qtbot)
    panes = opened.panes
    for picture in (panes.plot.view, panes.strip.canvas, panes.findings.list, panes.program.lines):
        assert name_of(picture), picture


def test_the_tab_key_goes_through_the_answers_in_their_order(opened):
    tiles = opened.panes.verdict.tiles
    assert [tile.question for tile in tiles] == list(Question)
    for one, following in pairwise(tiles):
        after = one.nextInFocusChain()
        while after is not None and not (after.focusPolicy() & Qt.FocusPolicy.TabFocus):
            after = after.nextInFocusChain()
        assert after is following
    assert all(name_of(tile).startswith(tile.text_shown.asked) for tile in tiles)
