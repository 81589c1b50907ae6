"""Make the pictures of the window in README.md, light and dark.

    python -m tests.window.readme_pictures [FOLDER]

They are grabbed off screen from the real window with a sample program at 1280 x 800;
FOLDER is sample_programs/pictures unless another one is named.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import QSettings
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from tests.window.pictures import settle
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.style.theme import Look, Theme

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "sample_programs" / "pictures"
PROGRAM = Path("sample_programs") / "coat_hook_pause.gcode"
LAYER = 12
"""Shows outline, inner loops and infill."""
BEAD = 5
"""The bead that is selected, counted from the beginning of the layer: its line is explained."""
SIZE = (1280, 800)
NAMES: dict[Look, str] = {"light": "window_light.png", "dark": "window_dark.png"}


def take(folder: Path) -> list[Path]:
    """Save one picture of the window for each of `NAMES`; returns their paths."""
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    os.chdir(ROOT)  # the program's path stands in the picture
    with tempfile.TemporaryDirectory() as scratch:
        memory = Memory(QSettings(str(Path(scratch) / "window.ini"), QSettings.Format.IniFormat))
        theme = Theme(application, "light", 1.0)
        window = MainWindow(ViewState(), memory, theme)
        window.resize(*SIZE)
        window.show()
        window.open_path(PROGRAM)
        settle(application, window)
        window.state.show_layer(LAYER)
        for _ in range(BEAD):
            window.state.step_bead(1)
        taken = []
        for look, name in NAMES.items():
            theme.choose(look)
            settle(application, window)
            taken.append(folder / name)
            opaque = window.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
            assert opaque.save(str(taken[-1]), "PNG", 0), taken[-1]  # 0: as small as it gets
        window.close()
    return taken


def main() -> int:
    folder = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for path in take(folder):
        print(f"{path} {path.stat().st_size // 1024} KiB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
