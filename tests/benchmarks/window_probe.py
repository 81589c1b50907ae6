"""One task of `tests.benchmarks.window`, in a process of its own; prints its figures in ms as JSON."""

from __future__ import annotations

import gc
import json
import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import QEvent, QPointF, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication

from viewer.__main__ import COLLECT_AT
from viewer.shown.window import app
from viewer.shown.window.shell.main_window import MainWindow

BEGUN = float(os.environ["PROBE_BEGUN"])
TICK_MS = 2
LONG_S = 0.06
FRAME_S = 1.0 / 60.0
SAMPLE = Path(__file__).parents[2] / "sample_programs" / "tap_washer_tray.gcode"


class Probe(MainWindow):
    """The window; notes when what was painted."""

    last: Probe | None = None

    def __init__(self, *arguments: object) -> None:
        super().__init__(*arguments)  # type: ignore[arg-type]
        wide, high = os.environ["PROBE_SIZE"].split("x")
        self.resize(int(wide), int(high))
        self.times: dict[str, float] = {}
        self.painted: Callable[[], None] = lambda: None
        self.ticks: list[float] = []
        self.wanted: Path | None = None
        self.drawn_at = self.painted_at = 0.0
        self._seen: object = None
        self.opening.loader.checked.connect(lambda _: self.note("checked"))
        self._timer = QTimer(self, interval=TICK_MS, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(lambda: self.ticks.append(time.perf_counter()))
        Probe.last = self

    def note(self, name: str) -> None:
        self.times.setdefault(name, time.time())

    def event(self, event: QEvent) -> bool:
        done = super().event(event)
        if event.type() == QEvent.Type.UpdateRequest:  # it was painted and is on the screen
            self.note("window")
            if not self._timer.isActive():
                self._timer.start()
            drawn = None if self.made_panes is None else self.made_panes.plot._drawn
            self.painted_at = time.perf_counter()
            if drawn is not self._seen:
                self._seen, self.drawn_at = drawn, self.painted_at - 1e-9
            if self.shows_a_layer():
                self.note("first")
                if not self.state.partial:
                    self.note("all")
            self.painted()
        return done

    def shows_a_layer(self) -> bool:
        if self.made_panes is None or self.state.program is None:
            return False
        if self.wanted is not None and self.state.program.path != self.wanted:
            return False
        drawn = self.made_panes.plot._drawn
        return drawn is not None and drawn.request.program is self.state.program

    def since(self, begun: float, name: str) -> float:
        return 1e3 * (self.times[name] - begun)

    def gap_ms(self) -> float:
        ticks = self.ticks
        return 1e3 * max((b - a for a, b in pairwise(ticks)), default=0.0)


def watch_gaps(window: Probe) -> None:
    """Say on stderr where the window's thread stands when it has not ticked for long."""
    main = threading.main_thread().ident
    assert main is not None

    def look() -> None:
        told = 0.0
        while True:
            time.sleep(0.01)
            last = window.ticks[-1] if window.ticks else 0.0
            if last and time.perf_counter() - last > LONG_S and last != told:
                told = last
                frames = sys._current_frames()
                print(f"---- {1e3 * (time.perf_counter() - last):.0f} ms", file=sys.stderr)
                stack = traceback.extract_stack(frames[main])[-7:]
                print("".join(traceback.format_list(stack)), file=sys.stderr)
                for key, frame in frames.items():
                    if key not in (main, threading.get_ident()):
                        stack = traceback.extract_stack(frame)[-2:]
                        print("   other:", "".join(traceback.format_list(stack)), file=sys.stderr)

    threading.Thread(target=look, daemon=True).start()


Task = Iterator[Callable[[], bool]]


def start(window: Probe, path: Path) -> Task:
    """No program: until the engine is ready."""
    del path
    yield lambda: window.made_panes is not None and not window.opening.loader.busy
    RESULT.update(window=window.since(BEGUN, "window"), gap=window.gap_ms())


def cold(window: Probe, path: Path) -> Task:
    """A program named on the command line."""
    del path
    yield lambda: "all" in window.times and not window.opening.loader.busy
    RESULT.update({name: window.since(BEGUN, name) for name in ("window", "first", "all")})
    RESULT["gap"] = window.gap_ms()


def opened(window: Probe, path: Path) -> Task:
    """Wait until a program is on show with its findings."""
    window.open_path(path)
    yield lambda: window.state.program is not None and window.state.program.path == path
    yield lambda: not window.opening.loader.busy and window.shows_a_layer()


def shown(window: Probe, path: Path) -> Task:
    """Have a program on show and at rest, and forget what was measured until then."""
    yield lambda: window.made_panes is not None and not window.opening.loader.busy
    yield from opened(window, path)
    yield from rest(0.5)
    window.times.clear()
    window.ticks.clear()


def ready(window: Probe, path: Path) -> Task:
    """A program opened in a window that shows another."""
    yield from shown(window, SAMPLE)
    window.wanted = path
    begun = time.time()
    window.open_path(path)
    yield lambda: "checked" in window.times and "all" in window.times
    yield from rest(0.3)
    RESULT.update({name: window.since(begun, name) for name in ("first", "all", "checked")})
    RESULT["gap"] = window.gap_ms()


def cards(window: Probe, path: Path) -> Task:
    """Another filament is chosen for a program that is on show."""
    yield from shown(window, path)
    before, choice = window.state.program, window.tool_bar.filament
    begun = time.time()
    other = 0 if choice.currentIndex() else 1
    choice.setCurrentIndex(other)
    choice.activated.emit(other)
    yield lambda: window.state.program is not before and "checked" in window.times
    yield from rest(0.3)
    RESULT.update(checked=window.since(begun, "checked"), gap=window.gap_ms())


def rest(seconds: float) -> Task:
    end = time.monotonic() + seconds
    yield lambda: time.monotonic() > end


def frame(window: Probe, path: Path) -> Task:
    """A dense layer: drawn by the kernel, and as a whole frame from the wish to the screen."""
    yield lambda: window.made_panes is not None and not window.opening.loader.busy
    yield from opened(window, path)
    window.state.show_layer(2)
    yield from rest(0.5)
    plot = window.panes.plot
    name = {"frame": lambda k: plot.view.box.translateBy(x=0.3 * (-1) ** k, y=0.0),
            "coloured": lambda k: window.state.colour_by("speed" if k % 2 else "flow"),
            "layer": lambda k: window.state.show_layer(3 - k % 2)}  # fmt: skip
    for what, change in name.items():
        taken = []
        for k in range(12):
            begun = time.perf_counter()
            change(k)
            window.drawn_at = 0.0
            yield lambda: window.drawn_at > 0.0 and plot._drawn.request == plot._request(1.0)
            taken.append(1e3 * (window.drawn_at - begun))
            yield from rest(0.05)
        RESULT[what] = sorted(taken)[len(taken) // 2]
    request = plot._request(1.0)
    assert request is not None
    taken = []
    for _ in range(9):
        begun = time.perf_counter()
        plot._drawing.draw(request)
        taken.append(1e3 * (time.perf_counter() - begun))
    RESULT["kernel"] = min(taken)


def drag(window: Probe, path: Path) -> Task:
    """The mouse drawn along the strip at 60 steps a second: how old is the layer that is painted?"""
    yield lambda: window.made_panes is not None and not window.opening.loader.busy
    yield from opened(window, path)
    canvas = window.panes.strip.canvas
    wished: dict[int, float] = {}
    ages: list[float] = []

    def painted() -> None:
        drawn = window.panes.plot._drawn
        if drawn is not None and drawn.request.number in wished:
            now = time.perf_counter()
            ages.append(1e3 * (now - wished[drawn.request.number]))
            for number in [n for n, at in wished.items() if at <= wished[drawn.request.number]]:
                del wished[number]

    window.painted = painted
    press = QEvent.Type.MouseButtonPress
    for k in range(100):
        place = QPointF(60.0 + (canvas.width() - 90.0) * k / 100.0, canvas.height() * 0.6)
        button = Qt.MouseButton.LeftButton
        before = window.state.layer
        begun = time.perf_counter()
        QApplication.sendEvent(canvas, QMouseEvent(press, place, canvas.mapToGlobal(place), button, button,
                                                   Qt.KeyboardModifier.NoModifier))  # fmt: skip
        press = QEvent.Type.MouseMove
        if window.state.layer != before:
            wished[window.state.layer] = begun
        yield from rest(FRAME_S)
    yield from rest(0.3)
    ages.sort()
    RESULT.update(usual=ages[len(ages) // 2], worst=ages[-1], frames=len(ages))


RESULT: dict[str, float] = {}


def main() -> None:
    task, path = sys.argv[1], Path(sys.argv[2] or ".")
    app.MainWindow = Probe  # type: ignore[misc]
    application = QApplication(sys.argv[:1])
    steps: list[Task] = []
    waiting: list[Callable[[], bool]] = []

    def step() -> None:
        window = Probe.last
        if window is None or "window" not in window.times:
            return
        if not steps:
            steps.append(globals()[task](window, path))
            if os.environ["PROBE_WHY"]:
                watch_gaps(window)
        if waiting and not waiting[0]():
            return
        waiting[:] = [following] if (following := next(steps[0], None)) is not None else []
        if not waiting:
            timer.stop()
            window.close()
            application.quit()

    timer = QTimer(interval=1)
    timer.timeout.connect(step)
    timer.start()
    gc.set_threshold(COLLECT_AT)
    app.run(str(path) if task == "cold" else None)
    print(json.dumps(RESULT))


if __name__ == "__main__":
    main()
