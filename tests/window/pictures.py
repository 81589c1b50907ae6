"""Grab the window and every pane, light and dark, to PNG files for a person to look at.

    python -m tests.window.pictures OUT [PROGRAM]

Without a display it draws off screen. Look for what is clipped, empty, misaligned or too faint.
"""

import os
import sys
import tempfile
import time
from pathlib import Path

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from viewer.shown.window.main_window import MainWindow
from viewer.shown.window.remember import Memory
from viewer.shown.window.theme import Look, Theme
from viewer.shown.window.view_state import COLOURINGS, ViewState

SIZES = ((1280, 800), (1920, 1080))
SAMPLE = Path(__file__).parents[2] / "sample_programs" / "tap_washer_tray.gcode"
RECENT = (
    Path("/bench/jobs/coat_hook_pause.gcode"),
    Path("/bench/jobs/by the window/radiator_knob_second_try.gcode"),
)


def turn(application: QApplication, seconds: float) -> None:
    """Let the event loop turn for a while."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        application.processEvents()
        time.sleep(0.002)


class Camera:
    """Saves what widgets look like, under numbered names."""

    def __init__(self, application: QApplication, folder: Path) -> None:
        self.application, self.folder = application, folder
        self.taken: list[Path] = []

    def take(self, widget: QWidget, name: str) -> None:
        turn(self.application, 0.25)
        path = self.folder / f"{name}.png"
        assert widget.grab().save(str(path)), path
        self.taken.append(path)


def photograph(
    application: QApplication, folder: Path, program: Path, look: Look, size: tuple[int, int]
) -> list[Path]:
    """Open the program in a window of a size and take every picture."""
    camera = Camera(application, folder)
    with tempfile.TemporaryDirectory() as settings:
        memory = Memory(QSettings(f"{settings}/window.ini", QSettings.Format.IniFormat))
        memory.set_recent(list(RECENT))
        theme = Theme(application, look)
        window = MainWindow(ViewState(), memory, theme)
        window.resize(*size)
        window.show()
        name = f"{look}_{size[0]}x{size[1]}"
        camera.take(window, f"start_{name}")
        window.open_path(program)
        while window.opening.loader.busy:
            turn(application, 0.05)
        camera.take(window, f"first_layer_{name}")
        window.state.show_layer(max(1, window.state.layers // 2))
        window.state.step_bead(1)
        camera.take(window, f"bead_{name}")
        if size == SIZES[0]:
            _every_pane(window, camera, look)
        window.close()
        theme.resize_text(0)
        theme.deleteLater()
    return camera.taken


def _every_pane(window: MainWindow, camera: Camera, look: Look) -> None:
    for name, dock in window.docks.items():
        camera.take(dock, f"pane_{name}_{look}")
    for colouring in COLOURINGS:
        window.state.colour_by(colouring)
        camera.take(window.panes.plot, f"plot_{colouring}_{look}")
    window.state.colour_by("role")
    window.state.show_moment(window.state.layer_seconds / 3.0)
    camera.take(window.panes.plot, f"plot_moment_{look}")
    window.banner.say("file", "warn", "tray.gcode was changed after it was read; what is shown is the old one.",
                      ("Read it again", window.opening.open_again))  # fmt: skip
    camera.take(window, f"banner_{look}")
    window.banner.clear()
    for action in ("keys", "about", "edit-printer", "edit-filament", "edit-workshop"):
        window.actions_by_id[action].trigger()
        turn(camera.application, 0.2)
        dialog = next(found for found in window.findChildren(QDialog) if found.isVisible())
        camera.take(dialog, f"{action}_{look}")
        dialog.close()
        turn(camera.application, 0.1)
    for _ in range(4):
        window.theme.resize_text(1)
    camera.take(window, f"large_text_{look}")
    window.theme.resize_text(0)


def main() -> None:
    if len(sys.argv) not in (2, 3):
        sys.exit("usage: python -m tests.window.pictures OUT [PROGRAM]")
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    program = Path(sys.argv[2]) if len(sys.argv) == 3 else SAMPLE
    running = QApplication.instance()
    application = running if isinstance(running, QApplication) else QApplication([])
    looks: tuple[Look, ...] = ("light", "dark")
    for look in looks:
        for size in SIZES:
            for path in photograph(application, folder, program, look, size):
                print(path)


if __name__ == "__main__":
    main()
