"""The handout on paper: three pages of A4, and one more for the answers."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPdfWriter, QTextDocument

from tests.lesson.samples import lesson, opened
from viewer.jit import compiler_is_off
from viewer.shown.paper.handout import handout

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="draws many pictures: needs the compiler")

NAME = "coat_hook_pause.gcode"
MARGIN_MM = 15.0


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("answers", [False, True])
def test_three_pages_and_one_for_the_answers(answers: bool) -> None:
    kept = QBuffer()
    kept.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(kept)
    margins = QMarginsF(MARGIN_MM, MARGIN_MM, MARGIN_MM, MARGIN_MM)
    writer.setPageLayout(
        QPageLayout(
            QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, margins,
            QPageLayout.Unit.Millimeter,
        )
    )  # fmt: skip
    document = QTextDocument()
    document.setHtml(handout(opened(NAME), lesson(NAME), answers, finer=1))
    document.documentLayout().setPaintDevice(writer)
    document.setPageSize(QSizeF(writer.width(), writer.height()))
    document.print_(writer)
    (count,) = re.findall(rb"/Count (\d+)", kept.data().data())
    assert int(count) == (4 if answers else 3)
