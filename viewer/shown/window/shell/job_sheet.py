"""The job sheet on paper or in a file: the page of `viewer.shown.paper`, its drawing as a picture."""

from __future__ import annotations

import base64
from datetime import datetime
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QSizeF, Qt
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter, QPdfWriter, QTextDocument
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QDialog, QWidget

from viewer.checks.run import Report
from viewer.errors import OutputError
from viewer.program import Program
from viewer.shown.paper.first_layer_picture import first_layer_svg
from viewer.shown.paper.job_sheet import FIRST_LAYER_MM, job_sheet
from viewer.shown.paper.part_image import part_image
from viewer.written import write_whole

MARGIN_MM: Final = 15.0
DOTS_PER_INCH: Final = 300
SCREEN_DOTS_PER_INCH: Final = 96
PICTURE_PX: Final = 1600
"""Width of the drawing: fine enough for paper."""
PICTURE_WIDE: Final = round(FIRST_LAYER_MM / 25.4 * SCREEN_DOTS_PER_INCH)
"""Its width on the page, in pixels of 1/96 inch."""


def save_sheet(program: Program, report: Report | None, path: Path, start: datetime | None = None) -> None:
    """Save the job sheet, as HTML where the name ends so, else as PDF.

    Raises
    ------
    OutputError
        The file could not be written; nothing was left half-written.
    """
    if path.suffix.lower() in (".html", ".htm"):
        write_whole(path, [job_sheet(program, report, start, part=part_image(program))])
        return
    kept = QBuffer()
    kept.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(kept)
    writer.setResolution(DOTS_PER_INCH)
    writer.setPageLayout(_layout())
    writer.setTitle(f"Job sheet: {program.path.name}")
    _fitted(document(program, report, start), writer).print_(writer)
    write_whole(path, [bytes(kept.data().data())])


def print_sheet(
    program: Program, report: Report | None, parent: QWidget, start: datetime | None = None
) -> bool:
    """Ask for a printer of paper and print the job sheet there; False where the person cancelled.

    Raises
    ------
    OutputError
        It could not be printed.
    """
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageLayout(_layout())
    printer.setDocName(f"Job sheet of {program.path.name}")
    if QPrintDialog(printer, parent).exec() != QDialog.DialogCode.Accepted:
        return False
    _fitted(document(program, report, start), printer).print_(printer)
    if printer.printerState() == QPrinter.PrinterState.Error:
        raise OutputError(
            "The job sheet could not be printed; look at the printer, or save it as PDF instead."
        )
    return True


def document(program: Program, report: Report | None, start: datetime | None = None) -> QTextDocument:
    """Return the job sheet as a document that Qt lays out: it knows no SVG, so the drawing becomes a picture."""
    svg = first_layer_svg(program, FIRST_LAYER_MM)
    picture = _as_image_tag(svg) if svg else None
    made = QTextDocument()
    made.setHtml(job_sheet(program, report, start, picture, part_image(program)))
    return made


def _fitted(made: QTextDocument, device: QPdfWriter | QPrinter) -> QTextDocument:
    made.documentLayout().setPaintDevice(device)
    made.setPageSize(QSizeF(device.width(), device.height()))
    return made


def _layout() -> QPageLayout:
    margins = QMarginsF(MARGIN_MM, MARGIN_MM, MARGIN_MM, MARGIN_MM)
    return QPageLayout(
        QPageSize(QPageSize.PageSizeId.A4),
        QPageLayout.Orientation.Portrait,
        margins,
        QPageLayout.Unit.Millimeter,
    )


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
