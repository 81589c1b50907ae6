"""What is typed about a print, the list of prints and the chart, all without a window."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from tests.printlog.bench import Bench, made
from viewer.printlog.against import Point, points_of
from viewer.printlog.history import history_of
from viewer.printlog.rows import Entry, Outcome
from viewer.shown.window.prints.estimate_chart import MAX_POINTS, chart_of, held_text
from viewer.shown.window.prints.prints_list import COLUMNS, Wanted, arranged
from viewer.shown.window.prints.typed_print import (
    EntryError,
    TypedPrint,
    first_typed,
    print_of,
    took_text,
    typed_of,
)

NOW = datetime(2026, 3, 2, 13, 0)
BASE = replace(made({"laying": 3600.0}, 60.0), charge=1.5, currency="EUR")
GOOD = TypedPrint("9:10", "12:55")


def test_what_is_typed_becomes_a_print_and_comes_back() -> None:
    typed = TypedPrint(
        "22:40", "1:05", Outcome.FAILED, layer="12", reason="warped", words=" a corner ", weight="9,5", spool="blue",
        charge="2.50", for_whom=" bench 3", note="again",
    )  # fmt: skip
    one = print_of(typed, BASE, NOW)
    assert (one.started, one.ended) == (datetime(2026, 3, 1, 22, 40), datetime(2026, 3, 2, 1, 5))
    assert (one.outcome, one.layer, one.reason, one.words) == (Outcome.FAILED, 12, "warped", "a corner")
    assert (one.weight_g, one.spool, one.charge, one.for_whom) == (9.5, "blue", 2.5, "bench 3")
    assert print_of(typed_of(one), one, NOW + timedelta(days=9)) == one
    uneven = replace(one, ended=one.ended + timedelta(seconds=7))
    assert print_of(typed_of(uneven), uneven, NOW) == uneven


def test_what_belongs_to_another_outcome_is_left_out() -> None:
    one = print_of(replace(GOOD, layer="3", reason="warped", words="no"), BASE, NOW)
    assert (one.layer, one.reason, one.words, one.spool, one.weight_g) == (None, "", "", None, None)
    stopped = print_of(
        replace(GOOD, outcome=Outcome.STOPPED, layer="3", reason="warped", words="no"), BASE, NOW
    )
    assert (stopped.layer, stopped.reason, stopped.words) == (3, "", "no")


def test_the_start_is_not_made_up() -> None:
    assert first_typed(BASE, None, "", NOW) == TypedPrint("", "13:00", charge="1.50")
    assert first_typed(BASE, NOW + timedelta(hours=1), "", NOW).started == ""
    assert first_typed(BASE, NOW - timedelta(hours=1), "blue", NOW) == TypedPrint(
        "12:00", "13:00", spool="blue", charge="1.50"
    )
    assert first_typed(BASE, NOW - timedelta(days=1), "", NOW).started == "2026-03-01 13:00"


@pytest.mark.parametrize(
    ("change", "said", "fields"),
    [
        ({"started": ""}, "when the print started", ("started",)),
        ({"ended": " "}, "when the print ended", ("ended",)),
        ({"started": "nine"}, "no time", ("started",)),
        ({"ended": "25:10"}, "'25:10' is no time", ("ended",)),
        ({"started": "2026-03-02 12:57"}, "ended .* before it started", ("started", "ended")),
        ({"ended": "2026-03-02 13:30"}, "still to come", ("ended",)),
        ({"outcome": Outcome.STOPPED, "layer": "0"}, "no layer", ("layer",)),
        ({"outcome": Outcome.FAILED, "layer": "46"}, "has 45 layers, no layer 46", ("layer",)),
        ({"weight": "heavy"}, "weight of the print", ("weight",)),
        ({"charge": "-1"}, "charge", ("charge",)),
    ],
)
def test_what_means_nothing_is_said_of_its_fields(
    change: dict[str, object], said: str, fields: tuple[str, ...]
) -> None:
    with pytest.raises(EntryError, match=said) as told:
        print_of(replace(GOOD, **change), BASE, NOW, layers=45)  # type: ignore[arg-type]
    assert told.value.fields == fields


def test_layers_that_are_not_known_or_there_are_taken() -> None:
    stopped = replace(GOOD, outcome=Outcome.STOPPED)
    assert print_of(replace(stopped, layer="45"), BASE, NOW, layers=45).layer == 45
    assert print_of(replace(stopped, layer="46"), BASE, NOW).layer == 46


def test_how_long_it_took_is_said_while_it_is_typed() -> None:
    assert took_text(GOOD, 12_000.0, NOW) == "Took 3 h 45 min, 12.5 % more than computed (3 h 20 min 0 s)."
    assert took_text(GOOD, 13_500.0, NOW).startswith("Took 3 h 45 min, as computed")
    assert took_text(GOOD, 0.0, NOW) == "Took 3 h 45 min."
    assert "all of it was computed" in took_text(replace(GOOD, outcome=Outcome.STOPPED), 12_000.0, NOW)
    assert "begun on 2026-03-01" in took_text(TypedPrint("22:40", "1:05"), 0.0, NOW)
    assert took_text(replace(GOOD, started=""), 0.0, NOW).startswith("Say when the print started")


def entry(number: int, **more: object) -> Entry:
    started = f"2026-03-{number:02d}T09:00:00"
    plain = Entry(
        number, started, started.replace("T09", "T10"), "tray.gcode", "Heron", "PLA", 3000.0, 5.0, "done", None, "", "",
        None, None, "", "", "", 0,
    )  # fmt: skip
    return plain._replace(**more)  # type: ignore[arg-type]


def test_prints_are_found_and_sorted() -> None:
    entries = [
        entry(4, charge=2.0), entry(3, printer="Wren", outcome="failed", layer=3, reason="warped"),
        entry(2, charge=9.0, for_whom="Bench 3", invented=1), entry(1, computed_s=1800.0, ended="2026-03-01T12:00:00"),
    ]  # fmt: skip
    titles = [column.title for column in COLUMNS]

    def numbers(**wanted: object) -> list[int]:
        return [entries[at].number for at in arranged(entries, Wanted(**wanted))]  # type: ignore[arg-type]

    assert numbers() == [4, 3, 2, 1]
    assert numbers(words="bench TRAY") == [2] and numbers(words="bench warped") == []
    assert numbers(printer="Wren") == [3] and numbers(outcome="done", descending=False) == [1, 2, 4]
    charge = titles.index("Charge")  # what is not known stands last either way
    assert numbers(column=charge) == [2, 4, 3, 1] and numbers(column=charge, descending=False) == [4, 2, 3, 1]
    assert numbers(column=titles.index("Took"))[0] == 1
    texts = {title: column.text(entries[1]) for title, column in zip(titles, COLUMNS, strict=True)}
    assert (
        texts["Outcome"] == "failed at layer 3: warped" and texts["Against computed"] == texts["Charge"] == ""
    )
    texts = {title: column.text(entries[2]) for title, column in zip(titles, COLUMNS, strict=True)}
    assert texts["Program"] == "tray.gcode (invented)" and texts["Against computed"] == "20 % more"
    assert texts["Started"] == "2026-03-02 09:00" and texts["Charge"] == "9.00 "


def test_the_chart_holds_its_points() -> None:
    bench = Bench(np.random.default_rng(4), heating=1.4)
    past = [bench.print_() for _ in range(30)]
    past[3] = bench.forgotten(past[3])
    points = points_of(range(1, 31), history_of(past))["Heron"]
    chart = chart_of(points)
    assert [one.number for one in chart.points] == [
        one.number for one in sorted(points, key=lambda one: one.computed_s)
    ]
    for one in chart.points:
        assert 0.0 < chart.x(one.computed_s) < 1.0
        if one.believed:
            assert 0.0 < chart.y(one.low) < chart.y(one.high) < 1.0
    assert chart.y(points[3].real) == 1.0, "what is not believed is drawn at the edge"
    assert (1.0, "as computed") in chart.share_ticks and 2 <= len(chart.share_ticks) <= 8 and chart.time_ticks
    held = sum(one.held for one in points if one.believed)
    assert f"{held} of 29 real times" in held_text(points) and "1 left out" in held_text(points)
    assert chart_of([]).points == ()
    many = [Point(k, 600.0, 1.0, 1.0, 0.9, 1.1, True) for k in range(MAX_POINTS + 5)]
    assert len(chart_of(many).points) == MAX_POINTS and "latest 400" in held_text(many)
