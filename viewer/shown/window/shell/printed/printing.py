"""Pages of `viewer.shown.paper` on paper or as PDF: laid out on A4 by Qt."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPdfWriter, QTextDocument
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QDialog, QWidget

from viewer.errors import OutputError

MARGIN_MM: Final = 15.0
DOTS_PER_INCH: Final = 300


def pdf_bytes(made: QTextDocument, title: str) -> bytes:
    """Return a document as PDF."""
    kept = QBuffer()
    kept.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(kept)
    writer.setResolution(DOTS_PER_INCH)
    writer.setPageLayout(_layout())
    writer.setTitle(title)
    _fitted(made, writer).print_(writer)
    return bytes(kept.data().data())


def print_document(made: QTextDocument, what: str, name: str, parent: QWidget) -> bool:
    """Ask for a printer of paper and print a document there; False where the person cancelled.

    Parameters
    ----------
    what
        What it is, as in "job sheet".
    name
        Of the program.

    Raises
    ------
    OutputError
        It could not be printed.
    """
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageLayout(_layout())
    printer.setDocName(f"{what.capitalize()} of {name}")
    if QPrintDialog(printer, parent).exec() != QDialog.DialogCode.Accepted:
        return False
    _fitted(made, printer).print_(printer)
    if printer.printerState() == QPrinter.PrinterState.Error:
        raise OutputError(f"The {what} could not be printed; look at the printer, or save it as PDF instead.")
    return True


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
