"""What is imported in which thread, so that the window neither stands still nor ends.

The engine is imported in the worker's thread. What holds classes of Qt is imported in the window's thread, a little at a
time: while Qt paints and styles, it looks up the Python class of a widget without holding the interpreter (PySide6 6.11,
`SignalManager::retrieveMetaObject`), and where another thread makes a class at that moment it does not find it, which
ends the process.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from importlib import import_module
from typing import Final

from PySide6 import QtCore, QtGui, QtWidgets

SLICE_S: Final = 0.008
"""How long the window's thread imports before it looks at the mouse again; one module is not divided."""


def import_engine() -> None:
    """Import the engine, and what pyqtgraph needs besides Qt; nothing here makes a class of Qt."""
    import cProfile  # noqa: F401
    import pydoc  # noqa: F401
    import xml.etree.ElementTree  # noqa: F401

    import viewer.lesson.sentence
    import viewer.lesson.step
    import viewer.lesson.words
    import viewer.part.visible
    import viewer.read.explain
    import viewer.read.find_text
    import viewer.shown.compare_rows
    import viewer.shown.durations
    import viewer.shown.fit_text
    import viewer.shown.log_text
    import viewer.shown.pictures.area_picture
    import viewer.shown.pictures.part_picture
    import viewer.shown.pictures.svg
    import viewer.shown.rows
    import viewer.shown.why_rows
    import viewer.why.along  # noqa: F401


def import_in_slices(modules: Iterable[str]) -> Iterator[None]:
    """Import Qt's classes, pyqtgraph and some modules in the window's thread; yield whenever a slice of time is over."""
    begun = time.perf_counter()
    for _ in _imports(modules):
        if time.perf_counter() - begun > SLICE_S:
            yield
            begun = time.perf_counter()


def _imports(modules: Iterable[str]) -> Iterator[None]:
    """Import one thing after another.

    PySide6 makes a class when its name is first asked for, and pyqtgraph asks for all of them at once.
    """
    for module in (QtCore, QtGui, QtWidgets):
        for name in dir(module):
            getattr(module, name)
            yield
    for name in (
        "PySide6.QtSvg",
        "PySide6.QtTest",
        "PySide6.QtOpenGL",
        "PySide6.QtOpenGLWidgets",
        "pyqtgraph",
        *modules,
    ):
        import_module(name)
        yield
