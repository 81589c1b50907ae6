"""The job sheet on paper or in a file: the page of `viewer.shown.paper`, its drawing as a picture."""

from __future__ import annotations

import base64
from datetime import datetime
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QImage, QPainter, QTextDocument
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QWidget

from viewer.checks.run import Report
from viewer.printlog.past import Past
from viewer.program import Program
from viewer.shown.paper.first_layer_picture import first_layer_svg
from viewer.shown.paper.job_sheet import FIRST_LAYER_MM, job_sheet
from viewer.shown.paper.part_image import part_image
from viewer.shown.window.shell.printed.printing import pdf_bytes, print_document
from viewer.written import write_whole

SCREEN_DOTS_PER_INCH: Final = 96
PICTURE_PX: Final = 1600
"""Width of the drawing: fine enough for paper."""
PICTURE_WIDE: Final = round(FIRST_LAYER_MM / 25.4 * SCREEN_DOTS_PER_INCH)
"""Its width on the page, in pixels of 1/96 inch."""


def save_sheet(
    program: Program,
    report: Report | None,
    path: Path,
    start: datetime | None = None,
    past: Past | None = None,
) -> None:
    """Save the job sheet, as HTML where the name ends so, else as PDF.

    Raises
    ------
    OutputError
        The file could not be written; nothing was left half-written.
    """
    if path.suffix.lower() in (".html", ".htm"):
        write_whole(path, [job_sheet(program, report, start, part=part_image(program), past=past)])
        return
    made = document(program, report, start, past)
    write_whole(path, [pdf_bytes(made, f"Job sheet: {program.path.name}")])


def print_sheet(
    program: Program,
    report: Report | None,
    parent: QWidget,
    start: datetime | None = None,
    past: Past | None = None,
) -> bool:
    """Ask for a printer of paper and print the job sheet there; False where the person cancelled.

    Raises
    ------
    OutputError
        It could not be printed.
    """
    return print_document(document(program, report, start, past), "job sheet", program.path.name, parent)


def document(
    program: Program, report: Report | None, start: datetime | None = None, past: Past | None = None
) -> QTextDocument:
    """Return the job sheet as a document that Qt lays out: it knows no SVG, so the drawing becomes a picture."""
    svg = first_layer_svg(program, FIRST_LAYER_MM)
    picture = _as_image_tag(svg) if svg else None
    made = QTextDocument()
    made.setHtml(job_sheet(program, report, start, picture, part_image(program), past))
    return made


def _as_image_tag(svg: str) -> str:
    renderer = QSvgRenderer(QByteArray(svg.encode()))
    size = renderer.defaultSize()
    high = max(1, round(PICTURE_PX * size.height() / max(1, size.width())))
    image = QImage(PICTURE_PX, high, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    kept = QBuffer()
    kept.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(kept, "PNG")  # type: ignore[call-overload]
    data = base64.b64encode(kept.data().data()).decode()
    return f'<img width="{PICTURE_WIDE}" src="data:image/png;base64,{data}">'
