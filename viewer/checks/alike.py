"""Alike places are one finding: a check marks its findings (`Finding.alike`, `with_rest`), and here they become one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from viewer.checks.evidence import counted
from viewer.checks.finding import Finding, Place


def one_each(findings: Iterable[Finding]) -> list[Finding]:
    """Join findings of the same check and severity that name the same word in `Finding.alike`.

    Returns
    -------
    list of Finding
        A joined finding stands where the first of its places stood. It is the worst of them, with all `places` and
        their number in its sentence; one that has no like, and one that is not marked, stays as it is.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for number, finding in enumerate(findings):
        key = (finding.slug, finding.severity, finding.alike) if finding.alike else (number,)
        groups.setdefault(key, []).append(finding)
    return [_joined(group) for group in groups.values()]


def each_place(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield the findings with one for each place of those that hold at several, as the strip and the plot mark them."""
    for finding in findings:
        if not finding.places:
            yield finding
        for place in finding.places:
            yield replace(
                finding,
                sentence=place.sentence,
                lines=() if place.line is None else (place.line,),
                layer=place.layer,
                place_mm=place.place_mm,
                value=place.value,
                move=place.move,
                extents=place.extents,
                places=(),
            )


def _joined(group: Sequence[Finding]) -> Finding:
    """Return the worst of a group with all places; of equals the first in the order they are shown in."""
    ordered = sorted(group, key=lambda finding: (-_excess(finding), *finding.order))
    worst, unlisted = ordered[0], sum(finding.unlisted for finding in group)
    if len(group) + unlisted == 1:
        return worst
    more = _more(ordered[1:], unlisted, worst.alike)
    places = tuple(map(_place, ordered)) if len(group) > 1 else ()
    return replace(worst, sentence=f"{worst.sentence} {more}", unlisted=unlisted, places=places)


def _excess(finding: Finding) -> float:
    """Return how far the value lies beyond the limit, to either side; where there is no limit the value itself."""
    return 0.0 if finding.value is None else abs(finding.value - (finding.limit or 0.0))


def _place(finding: Finding) -> Place:
    line = finding.lines[0] if finding.lines else None
    return Place(
        finding.sentence, finding.layer, finding.place_mm, line, finding.value, finding.move, finding.extents
    )  # fmt: skip


def _more(others: Sequence[Finding], unlisted: int, word: str) -> str:
    """Say how many more places there are and in which layers: ``There are 3 more such places, in layers 11 to 55``."""
    count = len(others) + unlisted
    text = f"There {'is' if count == 1 else 'are'} {counted(count, f'more such {word}')}"
    layers = sorted({finding.layer for finding in others if finding.layer is not None})
    if layers and not unlisted:
        text += f", in layer {layers[0]}" if len(layers) == 1 else f", in layers {layers[0]} to {layers[-1]}"
    return f"{text}, {unlisted:,} of them not listed." if unlisted else f"{text}."
