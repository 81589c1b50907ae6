"""Which printer takes a program, in words and as plain objects."""

from __future__ import annotations

from typing import Any

from viewer.checks.finding import Severity
from viewer.shown.numbers import number_text
from viewer.verdict.fits import Fit


def fit_text(fit: Fit) -> str:
    """Say whether it fits, or what keeps it from it: ``would fit moved by X 12 mm, Y 0 mm``."""
    if fit.nothing_extruded:
        return "not judged: nothing is extruded"
    if fit.fits is None:
        return "not known: the card does not say how large plate and height are"
    if fit.fits:
        return "fits"
    if fit.moved_mm is None:
        return "does not fit: the part is larger than its room"
    x, y = (number_text(mm) if mm else "0" for mm in fit.moved_mm)
    about = "drawn about X 0 Y 0; " if fit.about_zero else ""
    return f"does not fit: {about}would fit moved by X {x} mm, Y {y} mm"


def counts_text(fit: Fit) -> str:
    """Return how many findings of the printer there are: ``1 stop, 2 look``; ``nothing found`` where none."""
    counts = [f"{fit.count(severity)} {severity.value}" for severity in Severity if fit.count(severity)]
    return ", ".join(counts) or "nothing found"


def fit_object(fit: Fit) -> dict[str, Any]:
    """Return one printer's answer as a plain object."""
    return {
        "printer": fit.printer.name,
        "fits": fit.fits,
        "moved_mm": None if fit.moved_mm is None else list(fit.moved_mm),
        "about_zero": fit.about_zero,
        "counts": {severity.value: fit.count(severity) for severity in Severity},
        "findings": [
            {"slug": one.slug, "severity": one.severity.value, "sentence": one.sentence}
            for one in fit.findings
        ],
        "time_s": fit.time_s,
        "cost": fit.cost,
        "currency": fit.currency,
        "end": None if fit.end is None else fit.end.isoformat(timespec="seconds"),
    }
