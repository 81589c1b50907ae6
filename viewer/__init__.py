"""Beadline reads a 3D printer's machine-instruction file (G-code) and says what printing it means.

The data's way::

    bytes -> read -> layers -> beads -> timing -> figures -> checks -> shown
             moves   layers    widths   seconds   numbers    findings  window, console, paper
             events  roles     masks    ledger
             notes

`open_program` runs it; it returns a `Program`: plain columns (numpy arrays) and typed figures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from viewer.release import __version__

if TYPE_CHECKING:
    from viewer.cards import (
        FilamentCard,
        PrinterCard,
        WorkshopCard,
        load_filament,
        load_printer,
        load_workshop,
    )
    from viewer.errors import BeadlineError, CardError, OutputError, ReadError, Stopped
    from viewer.lesson.lesson import lesson_of
    from viewer.printlog.recall import recall
    from viewer.program import Program, open_program, with_cards
    from viewer.shown.data import figures_object, findings_object
    from viewer.shown.lesson_data import lesson_object
    from viewer.shown.pictures.part_picture import part_picture
    from viewer.shown.why_data import compare_object, why_object
    from viewer.verdict import verdict_of
    from viewer.why.areas import areas_at
    from viewer.why.causes import times_of_cause
    from viewer.why.compare import compare
    from viewer.why.overrun import overrun
    from viewer.why.places import dearest_places
    from viewer.why.trials import levers, replan

__all__ = [
    "BeadlineError",
    "CardError",
    "FilamentCard",
    "OutputError",
    "PrinterCard",
    "Program",
    "ReadError",
    "Stopped",
    "WorkshopCard",
    "__version__",
    "areas_at",
    "compare",
    "compare_object",
    "dearest_places",
    "figures_object",
    "findings_object",
    "lesson_object",
    "lesson_of",
    "levers",
    "load_filament",
    "load_printer",
    "load_workshop",
    "open_program",
    "overrun",
    "part_picture",
    "recall",
    "replan",
    "times_of_cause",
    "verdict_of",
    "why_object",
    "with_cards",
]

_HOMES = {
    "viewer.cards": (
        "FilamentCard",
        "PrinterCard",
        "WorkshopCard",
        "load_filament",
        "load_printer",
        "load_workshop",
    ),
    "viewer.errors": ("BeadlineError", "CardError", "OutputError", "ReadError", "Stopped"),
    "viewer.program": ("Program", "open_program", "with_cards"),
    "viewer.lesson.lesson": ("lesson_of",),
    "viewer.shown.lesson_data": ("lesson_object",),
    "viewer.shown.data": ("figures_object", "findings_object"),
    "viewer.shown.why_data": ("compare_object", "why_object"),
    "viewer.why.areas": ("areas_at",),
    "viewer.why.causes": ("times_of_cause",),
    "viewer.why.compare": ("compare",),
    "viewer.why.overrun": ("overrun",),
    "viewer.why.places": ("dearest_places",),
    "viewer.why.trials": ("levers", "replan"),
    "viewer.shown.pictures.part_picture": ("part_picture",),
    "viewer.printlog.recall": ("recall",),
    "viewer.verdict": ("verdict_of",),
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used: ``beadline --help`` must not wait for the compiler."""
    import importlib

    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(home), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
