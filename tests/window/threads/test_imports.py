"""What may end the process is not done: Qt's classes made in another thread (in a process of its own), events posted."""

import json
import os
import subprocess
import sys
from pathlib import Path

import viewer
from tests.window.conftest import SAMPLES
from viewer.shown.window.shell.panes import PANES

SCRIPT = """
import json, sys, threading

seen = {"window": [], "worker": []}

class Finder:
    def find_spec(self, name, path=None, target=None):
        here = threading.current_thread() is threading.main_thread()
        seen["window" if here else "worker"].append(name)

sys.meta_path.insert(0, Finder())

from PySide6.QtCore import QObject, QTimer
from viewer.shown.window import app
from viewer.shown.window.shell.main_window import MainWindow

class Watched(MainWindow):
    def __init__(self, *arguments):
        super().__init__(*arguments)
        self.todo = ["why", "teach", "check"]
        self.timer = QTimer(self, interval=50)
        self.timer.timeout.connect(self.go_on)
        self.timer.start()
        self.opening.loader.prepared.connect(lambda: seen.update(late=[], first=seen["window"], window=[]))
        self.panes_made.connect(lambda: seen.update(panes=seen["window"], window=[]))

    def go_on(self):
        if self.made_panes is None or self.state.report is None or self.opening.loader.busy:
            return
        if self.todo:
            self.arrange_for(self.todo.pop())
            return
        self.timer.stop()
        self.close()

app.MainWindow = Watched
app.run(sys.argv[1])

def makes_classes(name):
    its_own = [one for one in vars(sys.modules.get(name, object)).values() if isinstance(one, type(QObject))]
    return any(one.__module__ == name for one in its_own)

seen["of Qt in the worker"] = [
    name for name in seen["worker"] if makes_classes(name) or name.startswith(("PySide6", "pyqtgraph"))
]
print(json.dumps(seen))
"""


def test_no_event_that_python_makes_is_posted():
    """Qt deletes what is posted while Python holds it, too."""
    window = Path(viewer.__file__).parent / "shown" / "window"
    modules = list(window.rglob("*.py"))
    assert len(modules) > 150
    assert [path.name for path in modules if "postEvent(" in path.read_text(encoding="utf-8")] == []


def test_classes_of_qt_are_made_in_the_window_s_thread_and_the_engine_is_imported_in_the_worker_s(tmp_path):
    """A class that another thread makes while Qt paints ended one start of some seventy."""
    environment = {**os.environ, "XDG_CONFIG_HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(SAMPLES / "tap_washer_tray.gcode")],
        check=True, capture_output=True, text=True, env=environment, timeout=300,
    )  # fmt: skip
    seen = json.loads(done.stdout.splitlines()[-1])
    assert seen["of Qt in the worker"] == []
    assert {"numpy", "numba", "viewer.program", "viewer.checks.run"} <= set(seen["worker"])
    assert {"pyqtgraph", "viewer.shown.window.shell.panes"} <= set(seen["panes"])
    sliced = seen["panes"][: seen["panes"].index("viewer.shown.window.shell.panes")]
    assert {row.make.__module__ for row in PANES} <= set(sliced), (
        "each pane is imported in a slice of its own"
    )
    engine = [name for name in seen["panes"] if name.startswith("viewer.")]
    assert [name for name in engine if not name.startswith("viewer.shown.window")] == []
