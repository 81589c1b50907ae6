"""Alike places become one finding, and `each_place` gives them back."""

from __future__ import annotations

from dataclasses import replace

from viewer.checks.alike import each_place, one_each
from viewer.checks.finding import Finding, Severity, with_rest
from viewer.shown.data import finding_object
from viewer.shown.finding_text import other_places_text

GAP = Finding(slug="gaps", severity=Severity.LOOK, sentence="A gap.", limit=1.0, unit="mm", alike="place")


def gap(layer: int, value: float, **changes: object) -> Finding:
    place = (float(layer), 2.0, 0.2 * layer)
    return replace(GAP, layer=layer, lines=(100 * layer,), value=value, place_mm=place, move=layer, **changes)


def test_alike_places_are_one_finding_the_worst_first() -> None:
    (one,) = one_each([gap(3, 2.0), gap(7, 5.0), gap(5, 4.0)])
    assert (one.layer, one.value, one.lines) == (7, 5.0, (700,))
    assert [place.layer for place in one.places] == [7, 5, 3]
    assert one.sentence == "A gap. There are 2 more such places, in layers 3 to 5."


def test_other_checks_severities_words_and_unmarked_findings_stay_apart() -> None:
    found = [
        gap(1, 2.0), gap(2, 2.0, severity=Severity.STOP), gap(3, 2.0, slug="topples"), gap(4, 2.0, alike="part"),
        gap(5, 2.0, alike=""), gap(6, 2.0, alike=""),
    ]  # fmt: skip
    assert one_each(found) == found


def test_places_below_a_limit_count_by_their_distance_from_it() -> None:
    (one,) = one_each([gap(3, 0.9), gap(7, 0.2)])
    assert one.layer == 7 and one.sentence.endswith("There is 1 more such place, in layer 3.")


def test_places_that_were_not_listed_are_counted() -> None:
    marked = list(with_rest([gap(1, 2.0), gap(2, 3.0)], 40, "such place"))
    (one,) = one_each(marked)
    assert one.unlisted == 38 and len(one.places) == 2
    assert one.sentence == "A gap. There are 39 more such places, 38 of them not listed."
    assert other_places_text(one).endswith("and 38 more") and "layer 1" in other_places_text(one)
    (single,) = one_each(with_rest([gap(1, 2.0)], 4, "place"))
    assert single.places == () and single.unlisted == 3
    assert single.sentence == "A gap. There are 3 more such places, 3 of them not listed."


def test_each_place_yields_what_was_joined() -> None:
    found = [gap(3, 2.0), gap(7, 5.0)]
    apart = sorted(each_place(one_each(found)), key=lambda finding: finding.order)
    assert apart == found
    alone = gap(5, 2.0, alike="")
    assert list(each_place([alone])) == [alone]


def test_places_in_json() -> None:
    plain = finding_object(one_each([gap(3, 2.0), gap(7, 5.0)])[0])
    assert "alike" not in plain and "move" not in plain and plain["unlisted"] == 0
    assert plain["places"][1] == {
        "sentence": "A gap.", "layer": 3, "place_mm": (3.0, 2.0, 0.2 * 3), "line": 300, "value": 2.0, "extents": [],
    }  # fmt: skip
