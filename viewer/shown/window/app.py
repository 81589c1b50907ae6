"""The window's beginning: application, theme, window; then the event loop."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.style.icons import PROGRAM_ICON, icon
from viewer.shown.window.threads.collecting import Collector

_WAKE_MS = 200
SWITCH_S = 0.0005
"""The interpreter's usual 5 ms let a busy worker hold up painting, which asks for the interpreter again and again."""


def run(
    path: str | None = None,
    printer: str | None = None,
    filament: str | None = None,
    workshop: str | None = None,
) -> int:
    """Open the window and stay until it is closed.

    Parameters
    ----------
    path
        Of a program to open at once; ``-`` reads standard input.
    printer, filament, workshop
        Cards, by name or path; None: those that were chosen last.

    Returns
    -------
    int
        Exit status.
    """
    running = QApplication.instance()
    application = running if isinstance(running, QApplication) else QApplication(sys.argv[:1])
    application.setApplicationName("Beadline")
    application.setDesktopFileName("beadline")
    application.setWindowIcon(icon(PROGRAM_ICON, dark=False))
    sys.setswitchinterval(SWITCH_S)
    window = MainWindow(ViewState())
    collector = Collector(window.state, application)
    window.panes_made.connect(collector.begin)
    window.choose_cards(printer, filament, workshop)
    window.show()
    if path is None:
        # the first paint comes before the worker takes the interpreter for its imports
        QTimer.singleShot(0, window.opening.prepare)
    else:
        QTimer.singleShot(0, lambda: window.open_path(Path(path)))
    _stop_on_interrupt(application, window)
    status = application.exec()
    window.opening.close()
    collector.stop()
    return status


def _stop_on_interrupt(application: QApplication, window: MainWindow) -> None:
    """Close the window on Ctrl+C in the terminal; Python hears of it only when it is woken."""
    signal.signal(signal.SIGINT, lambda *_: window.close())
    waker = QTimer(application, interval=_WAKE_MS)
    waker.timeout.connect(lambda: None)
    waker.start()
