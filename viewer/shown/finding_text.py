"""Findings in words: the verdict on a program, where the evidence lies, and units as people write them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from viewer.checks.finding import Finding, Hazard, Place, Severity
from viewer.numerals import capital, counted_text
from viewer.shown.numbers import count_text, place_text, size_text

if TYPE_CHECKING:  # not at run time: a survey of what is remembered need not wait for the engine
    from viewer.checks.run import Report

NOTHING_FOUND: Final = "nothing found by the checks that were made"
"""What the checks do not look at, they do not see."""

CAUTIONS: Final[Mapping[Hazard, str]] = {
    Hazard.HEAT: "Nozzle and plate are hot enough to burn, hot plastic gives off fumes, and printers left alone have "
    "started fires: follow the machine's manual, the local rules and the place's own policy.",
    Hazard.MOVING_PARTS: "Moving axes pinch and crush: keep hands and tools out of the machine while it moves, and "
    "follow its manual, the local rules and the place's own policy.",
}
"""The usual caution about each hazard."""

_SIGNS: Final = {"degC": "°C", "mm/s2": "mm/s²", "mm3": "mm³", "mm2": "mm²", "g/cm3": "g/cm³"}
_PLAIN: Final = re.compile(rf"(?<![A-Za-z_])(?:{'|'.join(_SIGNS)})(?![A-Za-z0-9_])")
"""Not within a card's key: melt_mm3_s."""
_GROUPED: Final = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3})+(?!\d|,\d)")


def readable(text: str) -> str:
    """Write units and large numbers as people do; checks and cards keep to ASCII, for whoever reads them as data.

    >>> readable("1,234 beads need 2.5 mm3/s")
    '1234 beads need 2.5 mm³/s'
    """
    text = _PLAIN.sub(lambda found: _SIGNS[found[0]], text)
    return _GROUPED.sub(lambda found: count_text(int(found[0].replace(",", ""))), text)


def with_caution(text: str, hazard: Hazard | None) -> str:
    """Return what to do with the caution that belongs to a hazard behind it."""
    return text if hazard is None else f"{text} {CAUTIONS[hazard]}".lstrip()


def verdict_text(report: Report) -> str:
    """Return the gravest finding's verdict and the counts: ``do not print this (1 stop, 2 looks)``; and what failed."""
    counts = [
        counted_text(report.count(severity), severity.value)
        for severity in Severity
        if report.count(severity)
    ]
    text = NOTHING_FOUND if report.worst is None else f"{report.worst.means} ({', '.join(counts)})"
    return f"{text}; {failed_text(report)}" if report.failed else text


def failed_text(report: Report) -> str:
    """Return how many checks failed of themselves: ``1 check failed and was not made``."""
    slugs = {slug for one in report.failed for slug in one.slugs}
    return (
        "1 check failed and was not made"
        if len(slugs) == 1
        else f"{len(slugs)} checks failed and were not made"
    )


def place_words(place_mm: tuple[float, float, float]) -> str:
    """Return a place: ``X 10.0 Y 20.0 Z 0.25 mm``."""
    x, y, z = place_mm
    return f"X {place_text(x)} Y {place_text(y)} Z {size_text(round(z, 3))} mm"


MAX_PLACES: Final = 3
"""Places of one finding that are told in lines of text; the rest is counted."""


def where_words(place: Place | Finding) -> str:
    """Return layer and place: ``layer 4, X 10.0 Y 20.0 Z 0.3 mm``; "" where neither is known."""
    layer = [] if place.layer is None else [f"layer {place.layer}"]
    return ", ".join(layer if place.place_mm is None else [*layer, place_words(place.place_mm)])


def other_places_text(finding: Finding) -> str:
    """Return the next worst places of a finding that holds at several, and how many more there are; "" for one."""
    told = [text for place in finding.places[1:MAX_PLACES] if (text := where_words(place))]
    if not told:
        return ""
    more = len(finding.places) + finding.unlisted - 1 - len(told)
    return f"Also: {'; '.join(told)}" + (f"; and {count_text(more)} more" if more > 0 else "")


def evidence_text(finding: Finding) -> str:
    """Say where a finding lies: ``Line 282, layer 4, X 10.0 Y 20.0 Z 0.3 mm``; what was measured its sentence says."""
    where = []
    if lines := tuple(dict.fromkeys(finding.lines)):
        word = "line" if len(lines) == 1 else "lines"
        where.append(f"{word} {', '.join(map(str, lines[:3]))}" + (" ..." if len(lines) > 3 else ""))
    if finding.layer is not None:
        where.append(f"layer {finding.layer}")
    if finding.place_mm is not None:
        where.append(place_words(finding.place_mm))
    text = ", ".join(where)
    return capital(text)
