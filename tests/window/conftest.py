"""A window with its own settings for each test, and a guard: no test may leave a thread behind."""

import gc
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QSettings, Qt
from PySide6.QtGui import QCursor, QKeySequence, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QWidget

from viewer import open_program
from viewer.program import Program
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.style.theme import Theme

SAMPLES = Path(__file__).parents[2] / "sample_programs"
RAN = pytest.StashKey[int]()
FULL_SEARCH = 20
"""Number of tests from one search of all objects to the next, which takes half a second."""
_Pane = TypeVar("_Pane", bound=QWidget)
WAIT_MS = 120_000
"""Kernels may have to be compiled first."""


@pytest.fixture(autouse=True)
def no_thread_is_left() -> Iterator[None]:
    before = set(threading.enumerate())
    yield
    until = time.monotonic() + 10.0
    while True:
        left = [thread for thread in threading.enumerate() if thread not in before and thread.is_alive()]
        left = [thread for thread in left if not thread.name.startswith("pytest")]
        if not left or time.monotonic() > until:
            break
        time.sleep(0.01)
    assert not left, f"threads were left behind: {left}"


@pytest.fixture(autouse=True)
def circles_end_in_this_thread(request: pytest.FixtureRequest) -> Iterator[None]:
    """Search for circles of objects between tests only: in a worker that may end what only this thread may end."""
    gc.disable()
    yield
    ran = request.session.stash.get(RAN, 0) + 1
    request.session.stash[RAN] = ran
    gc.collect(1 if ran % FULL_SEARCH else 2)


@pytest.fixture(scope="session", autouse=True)
def pointer_lies_aside(qapp: QApplication) -> None:
    """Put the pointer of a real screen where windows seldom are: what lies under it hears of it at any time."""
    QCursor.setPos(qapp.primaryScreen().geometry().bottomRight())


@pytest.fixture(scope="session")
def hook() -> Program:
    """Return a coat hook with a pause, read once for all tests."""
    return open_program(SAMPLES / "coat_hook_pause.gcode")


@pytest.fixture
def settings_file(tmp_path: Path) -> Path:
    return tmp_path / "window.ini"


@pytest.fixture
def make_window(qtbot, qapp: QApplication, settings_file: Path) -> Iterator[Callable[[], MainWindow]]:
    """Return what makes a window as the next start of the program would; they share one settings file."""
    made: list[MainWindow] = []

    def make() -> MainWindow:
        memory = Memory(QSettings(str(settings_file), QSettings.Format.IniFormat))
        theme = Theme(qapp, memory.look, memory.text_scale)
        window = MainWindow(ViewState(), memory, theme)
        qtbot.addWidget(window)
        window.resize(1280, 800)
        window.glance_maker.rest.setInterval(WAIT_MS * 1000)  # a test that wants a glance asks for it
        made.append(window)
        show_active(window, qtbot)
        return window

    yield make
    for window in made:
        window.close()
        window.theme.resize_text(0)
        window.theme.deleteLater()


@pytest.fixture
def window(make_window: Callable[[], MainWindow]) -> MainWindow:
    return make_window()


@pytest.fixture
def opened(window: MainWindow, qtbot) -> MainWindow:
    """A window with a sample program, read and checked."""
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    wait_until_settled(window, qtbot)
    return window


def wait_until_settled(window: MainWindow, qtbot) -> None:
    """Wait until nothing is under way in the window, nor is after all that waits in its queue was done."""

    def settled() -> bool:
        if window.busy:
            return False
        QApplication.processEvents()  # layouts, for one, which may change the size of the picture
        return not window.busy

    qtbot.waitUntil(settled, timeout=WAIT_MS)


def wait_until_active(window: QWidget, qtbot) -> None:
    """Wait until the window has the keyboard: before, no key is a shortcut, and nothing in it has the focus.

    It is asked for until it is granted: a window manager may refuse it as long as the window is new, and without a
    window manager nobody grants it unasked.
    """

    def active() -> bool:
        if QApplication.activeWindow() is not window:
            window.activateWindow()
        return QApplication.activeWindow() is window

    with qtbot.waitExposed(window, timeout=WAIT_MS):
        window.raise_()
    qtbot.waitUntil(active, timeout=WAIT_MS)


def show_active(widget: QWidget, qtbot) -> None:
    """Show a widget as a window of its own, with the keyboard."""
    widget.show()
    wait_until_active(widget, qtbot)


def shown_pane(
    make: Callable[[ViewState], _Pane], program: Program | None, size: tuple[int, int], qtbot
) -> tuple[ViewState, _Pane]:
    """Show a pane alone with a program, and wait until what it computes of it is there."""
    state = ViewState()
    pane = make(state)
    qtbot.addWidget(pane)
    pane.resize(*size)
    state.show_program(program)
    show_active(pane, qtbot)
    wait_while_busy(pane, qtbot)
    return state, pane


def wait_while_busy(pane: QWidget, qtbot) -> None:
    """Wait until a pane has nothing under way."""
    qtbot.waitUntil(lambda: not pane.busy, timeout=60_000)


def move_to(widget: QWidget, place: QPoint, buttons: Qt.MouseButton = Qt.MouseButton.NoButton) -> None:
    """Move the pointer to a place in a widget; the pointer of a real screen stays, whose events come at any time."""
    at = QPointF(place)
    event = QMouseEvent(
        QEvent.Type.MouseMove, at, widget.mapToGlobal(at), Qt.MouseButton.NoButton, buttons,
        Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    QApplication.sendEvent(widget, event)


def press(window: QWidget, keys: str, qtbot) -> None:
    """Press a key in whatever has the focus, as a person does."""
    wait_until_active(window, qtbot)
    QTest.keySequence(QApplication.focusWidget() or window, QKeySequence(keys))
    QApplication.processEvents()


def choose_next(choice: QComboBox, qtbot) -> None:
    """Open a list, go one further in it and take that, as a hand on the keyboard does."""
    choice.setFocus()
    qtbot.keyClick(choice, Qt.Key.Key_Space)
    view = choice.view()
    qtbot.keyClick(view, Qt.Key.Key_Down)
    qtbot.keyClick(view, Qt.Key.Key_Return)
