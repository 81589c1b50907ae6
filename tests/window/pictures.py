"""Grab the window and every pane, light and dark, to PNG files for a person to look at.

    python -m tests.window.pictures OUT [PROGRAM ...]

The first program (or a sample) is taken in every way, the others with a few pictures each.
It draws off screen, unless BEADLINE_TEST_SCREEN=1 asks for the display. Look for what is clipped, empty, misaligned or
too faint.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

if os.environ.get("BEADLINE_TEST_SCREEN") != "1":
    os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import QRectF, QSettings, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from viewer.shown.window.model.view_state import COLOURINGS, ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.shell.printed.job_sheet import document
from viewer.shown.window.shell.printed.printing import MARGIN_MM
from viewer.shown.window.style.theme import Look, Theme

SIZES = ((1280, 800), (1920, 1080))
SAMPLES = Path(__file__).parents[2] / "sample_programs"
PROGRAMS = ("tap_washer_tray", "lamp_shade_ring_spiral", "small_parts_plate")
PAGE_DOTS = 110
"""Of an inch of the job sheet."""
RECENT = (
    Path("/bench/jobs/coat_hook_pause.gcode"),
    Path("/bench/jobs/by the window/radiator_knob_second_try.gcode"),
)


SETTLE_S = 120.0
"""Kernels may have to be compiled first."""


def settle(application: QApplication, window: MainWindow) -> None:
    """Let the event loop turn until nothing is under way in the window, nor is after all that waits was done.

    Raises
    ------
    TimeoutError
    """
    until = time.monotonic() + SETTLE_S
    calm = 0
    while calm < 2:
        if time.monotonic() > until:
            raise TimeoutError("the window did not come to rest")
        application.processEvents()
        calm = 0 if window.busy else calm + 1
        time.sleep(0.002)


class Camera:
    """Saves what widgets look like, under numbered names."""

    def __init__(self, application: QApplication, window: MainWindow, folder: Path) -> None:
        self.application, self.window, self.folder = application, window, folder
        self.taken: list[Path] = []

    def settle(self) -> None:
        """Wait until the window is at rest."""
        settle(self.application, self.window)

    def take(self, widget: QWidget, name: str) -> None:
        """Save what a widget looks like when the window is at rest."""
        self.settle()
        path = self.folder / f"{name}.png"
        assert widget.grab().save(str(path)), path
        self.taken.append(path)


def photograph(
    application: QApplication,
    folder: Path,
    program: Path,
    look: Look,
    size: tuple[int, int],
    more: bool = True,
) -> list[Path]:
    """Open the program in a window of a size and take its pictures; `more`: of every pane and page, too."""
    with tempfile.TemporaryDirectory() as settings:
        memory = Memory(QSettings(f"{settings}/window.ini", QSettings.Format.IniFormat))
        memory.set_recent(list(RECENT))
        theme = Theme(application, look)
        window = MainWindow(ViewState(), memory, theme)
        camera = Camera(application, window, folder)
        window.resize(*size)
        window.show()
        name = f"{look}_{size[0]}x{size[1]}"
        if more:
            camera.take(window, f"start_{name}")
        _one_program(window, camera, program, name)
        if more and size == SIZES[0]:
            _every_pane(window, camera, look)
            if look == "light":
                _job_sheet(window, camera)
        window.close()
        theme.resize_text(0)
        theme.deleteLater()
    return camera.taken


def _one_program(window: MainWindow, camera: Camera, program: Path, name: str) -> None:
    """Take the first layer, the slowest with a bead selected, and a finding."""
    window.open_path(program)
    camera.settle()
    stem = program.name.split(".")[0]
    camera.take(window, f"{stem}_first_layer_{name}")
    window.state.show_layer(max(1, window.state.layers // 2))
    window.state.step_bead(1)
    camera.take(window, f"{stem}_bead_{name}")
    window.state.select(None)
    placed = [k for k, entry in enumerate(window.panes.findings.entries) if entry.severity is not None]
    if placed:
        findings = window.panes.findings
        findings.choose(placed[-1])
        findings._go_to_index(findings.list.currentIndex())
        camera.take(window, f"{stem}_finding_{name}")


def _job_sheet(window: MainWindow, camera: Camera) -> None:
    """Draw the pages of the job sheet as they would be printed."""
    program = window.state.program
    assert program is not None
    wide, high = (round(side / 25.4 * PAGE_DOTS) for side in (210.0, 297.0))
    margin = round(MARGIN_MM / 25.4 * PAGE_DOTS)
    image = QImage(wide, high, QImage.Format.Format_RGB32)
    for set_dots in (image.setDotsPerMeterX, image.setDotsPerMeterY):
        set_dots(round(PAGE_DOTS / 0.0254))
    sheet = document(program, window.state.report)
    sheet.documentLayout().setPaintDevice(image)
    inner = QRectF(0.0, 0.0, wide - 2 * margin, high - 2 * margin)
    sheet.setPageSize(inner.size())
    for number in range(sheet.pageCount()):
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.translate(margin, margin - number * inner.height())
        sheet.drawContents(painter, inner.translated(0.0, number * inner.height()))
        painter.end()
        path = camera.folder / f"sheet_{number + 1}.png"
        assert image.save(str(path)), path
        camera.taken.append(path)


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
    for action in ("note-print", "keys", "about", "edit-printer", "edit-filament", "edit-workshop"):
        window.actions_by_id[action].trigger()
        camera.settle()
        dialog = next(found for found in window.findChildren(QDialog) if found.isVisible())
        camera.take(dialog, f"{action}_{look}")
        dialog.close()
        camera.settle()
    window.actions_by_id["print-log"].trigger()
    pages = window.commands.log.pages
    assert pages is not None
    for number in range(pages.tabs.count()):
        pages.tabs.setCurrentIndex(number)
        camera.take(pages, f"log_{pages.tabs.tabText(number).lower()}_{look}")
    pages.close()
    window.memory.set_watched([str(SAMPLES), "/bench/drive"])
    window.actions_by_id["inbox"].trigger()
    inbox = window.commands.inbox.page
    assert inbox is not None
    camera.take(inbox, f"inbox_{look}")
    inbox.close()
    for _ in range(4):
        window.theme.resize_text(1)
    camera.take(window, f"large_text_{look}")
    window.theme.resize_text(0)


def main() -> None:
    if len(sys.argv) < 2:
        sys.exit("usage: python -m tests.window.pictures OUT [PROGRAM ...]")
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    log = folder / "demo.sqlite3"
    if not log.exists():
        subprocess.run([sys.executable, str(SAMPLES / "demo_log.py"), str(log)], check=True)
    os.environ["BEADLINE_PRINT_LOG"] = str(log)  # not the person's own
    os.environ["BEADLINE_CACHE"] = str(log.parent)
    programs = [Path(name) for name in sys.argv[2:]] or [SAMPLES / f"{name}.gcode" for name in PROGRAMS]
    running = QApplication.instance()
    application = running if isinstance(running, QApplication) else QApplication([])
    looks: tuple[Look, ...] = ("light", "dark")
    for look in looks:
        for size in SIZES:
            for program in programs:
                for path in photograph(application, folder, program, look, size, program == programs[0]):
                    print(path)


if __name__ == "__main__":
    main()
