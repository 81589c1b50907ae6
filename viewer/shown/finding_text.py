"""Findings in words: the verdict on a program, and where the evidence lies."""

from __future__ import annotations

from typing import Final

from viewer.checks.finding import Finding, Severity
from viewer.checks.run import Report
from viewer.shown.numbers import place_text, size_text

NOTHING_FOUND: Final = "nothing found by the checks that were made"
"""What the checks do not look at, they do not see."""


def verdict_text(report: Report) -> str:
    """Give the gravest finding's verdict and the counts: ``do not print this (1 stop, 2 look)``."""
    counts = [f"{report.count(severity)} {severity.value}" for severity in Severity if report.count(severity)]
    return NOTHING_FOUND if report.worst is None else f"{report.worst.means} ({', '.join(counts)})"


def evidence_text(finding: Finding) -> str:
    """Say where a finding lies: ``Line 282, layer 4, X 10.0 Y 20.0 Z 0.3 mm``; what was measured its sentence says."""
    where = []
    if lines := tuple(dict.fromkeys(finding.lines)):
        word = "line" if len(lines) == 1 else "lines"
        where.append(f"{word} {', '.join(map(str, lines[:3]))}" + (" ..." if len(lines) > 3 else ""))
    if finding.layer is not None:
        where.append(f"layer {finding.layer}")
    if finding.place_mm is not None:
        x, y, z = finding.place_mm
        where.append(f"X {place_text(x)} Y {place_text(y)} Z {size_text(round(z, 3))} mm")
    text = ", ".join(where)
    return text[:1].upper() + text[1:]
