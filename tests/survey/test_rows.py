"""Rows of a survey against what the programs are known to be, their order, what is remembered, and on what it depends."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import os
import time
from datetime import datetime
from pathlib import Path

import msgspec
import pytest

from tests.survey.bench import FAULTY, Here, changed_copies, draw_moves, folder_of_programs, wanted
from viewer.cards import CheckRule
from viewer.checks.questions import Question
from viewer.errors import BeadlineError, CardError
from viewer.program import _READING_KEYS, open_program
from viewer.shown.json_text import json_text
from viewer.shown.paper.survey_page import About, survey_page
from viewer.shown.survey.data import COLUMNS, QUESTIONS, survey_csv, survey_object
from viewer.shown.survey.text import amounts_text, totals_lines
from viewer.survey.files import programs_in
from viewer.survey.parts import PICTURE_KEYS, FitPart, best_fit, code_version
from viewer.survey.row import Row, in_order, totals_of
from viewer.survey.run import Survey, Wanted, without_repeats
from viewer.survey.store import MIGRATIONS, Remembered

START = datetime(2026, 3, 2, 8, 0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return folder_of_programs(tmp_path_factory.mktemp("programs"))


@pytest.fixture(scope="module")
def known(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that remembers the folder's rows with their pictures."""
    path = tmp_path_factory.mktemp("known") / "survey.sqlite3"
    rows_of(folder, path, wanted(draw_moves))
    return path


def rows_of(folder: Path, store: Path, what: Wanted, code: str | None = None) -> tuple[list[Row], Here]:
    engine = Here()
    paths, _ = programs_in([str(folder)])
    with Remembered(store, code or code_version()) as remembered:
        return in_order(Survey(what, remembered, engine).rows(paths)), engine


def copied(store: Path, tmp_path: Path) -> Path:
    """Return a copy of a store that a test may change."""
    with Remembered(store, code_version()) as remembered, Remembered(tmp_path / "s", code_version()) as copy:
        remembered._base.backup(copy._base)
    return tmp_path / "s"


def test_one_row_a_program_and_what_needs_a_person_first(folder: Path, known: Path) -> None:
    rows, engine = rows_of(folder, known, wanted())
    assert engine.asked == []
    names = [(row.word, Path(row.path).name) for row in rows]
    assert names == [
        ("not read", "broken.gcode"), ("no", "off-plate.gcode"), ("look", "checksum.gcode"), ("look", "claims.gcode.gz"),
        ("look", "twin.gcode"),
    ]  # fmt: skip
    assert rows[0].problem is not None
    assert rows[0].problem.sentence.startswith(f"{folder / 'broken.gcode'} is a zip container")


def test_a_row_says_what_the_program_itself_says(folder: Path, known: Path) -> None:
    row = next(row for row in rows_of(folder, known, wanted())[0] if row.path.endswith("off-plate.gcode"))
    program = open_program(FAULTY / "off-plate.gcode", "heron", "pla", "quayside")
    assert row.content == program.sha256
    assert row.verdict is not None and row.verdict.worst is not None
    assert row.verdict.worst.slug == "off-plate"
    assert row.verdict.time_s == program.figures.time.total_s
    assert row.verdict.mass_g == program.figures.filament.mass_g
    assert row.verdict.cost == program.figures.filament.cost
    assert row.verdict.height_mm == program.figures.layers.height_mm
    assert [fit.printer for fit in row.fits if not fit.fits] == ["Dipper", "Heron"]
    assert row.best is not None and row.best.printer == "Wren"
    assert [one.question for one in row.verdict.answers] == [one.value for one in Question] == list(QUESTIONS)


def test_the_best_printer_fits_and_has_least_to_look_at_then_least_time() -> None:
    def fit(printer: str, fits: bool | None, stops: int, looks: int, time_s: float) -> FitPart:
        return FitPart(printer=printer, fits=fits, stops=stops, looks=looks, time_s=time_s, cost=None)

    small, grave, unknown = fit("S", False, 0, 0, 1), fit("G", True, 1, 0, 1), fit("U", None, 0, 0, 1)
    quick, slow, sound = fit("Q", True, 0, 1, 5), fit("L", True, 0, 1, 9), fit("Z", True, 0, 0, 99)
    assert best_fit([small, grave, unknown]) is None
    assert best_fit([small, slow, quick]) is quick
    assert best_fit([quick, sound]) is sound


def test_a_no_for_another_reason_than_the_printer_is_best_on_none(folder: Path, known: Path) -> None:
    rows, _ = rows_of(folder, known, wanted())
    off_plate = next(row for row in rows if row.word == "no")
    assert off_plate.best is not None and off_plate.verdict is not None
    cut = tuple(
        msgspec.structs.replace(one, word="no") if one.question == "whole" else one
        for one in off_plate.verdict.answers
    )
    verdict = msgspec.structs.replace(off_plate.verdict, answers=cut)
    assert best_fit(off_plate.fits, verdict) is None
    broken = dataclasses.replace(off_plate, verdict=verdict)
    assert amounts_text(broken, START).endswith(", on no printer as it is")  # it would fit Wren
    homeless = tuple(fit for fit in off_plate.fits if not fit.fits)
    assert amounts_text(dataclasses.replace(broken, fits=homeless), START).endswith(", no printer takes it")
    assert amounts_text(off_plate, START).endswith(", best on Wren")


def test_totals_are_the_sums_of_rows(folder: Path, known: Path) -> None:
    rows, _ = rows_of(folder, known, wanted())
    totals = totals_of(rows)
    read = [row.verdict for row in rows if row.verdict is not None]
    assert totals.by_word == {"not read": 1, "no": 1, "look": 3, "not known": 0, "yes": 0}
    assert sum(totals.by_word.values()) == totals.programs == 5
    assert totals.time_s == pytest.approx(sum(one.time_s for one in read))
    assert totals.cost == pytest.approx(sum(one.cost or 0.0 for one in read))
    assert sum(totals.by_printer.values()) + totals.no_printer == len(read)


def test_json_and_csv_have_a_row_for_each(folder: Path, known: Path) -> None:
    rows, _ = rows_of(folder, known, wanted())
    plain = json.loads(json_text(survey_object(rows, START), indented=False))
    assert [row["word"] for row in plain["rows"]] == ["not read", "no", "look", "look", "look"]
    assert plain["rows"][0]["verdict"] is None and "zip" in plain["rows"][0]["problem"]["sentence"]
    end = datetime.fromisoformat(plain["rows"][1]["end"])
    assert (end - START).total_seconds() == int(plain["rows"][1]["verdict"]["time_s"])
    table = list(csv.DictReader(io.StringIO("".join(survey_csv(rows, START)))))
    assert len(table) == 5 and set(table[0]) == set(COLUMNS)
    assert table[0]["problem"] and not table[0]["whole_answer"] and not table[0]["time_s"]
    assert (table[1]["printer_answer"], table[1]["worst"], table[1]["best_printer"]) == (
        "no",
        "off-plate",
        "Wren",
    )
    assert float(table[1]["mass_g"]) == plain["rows"][1]["verdict"]["mass_g"]


def test_a_twin_is_worked_on_once(folder: Path, tmp_path: Path) -> None:
    _, engine = rows_of(folder, tmp_path / "s", wanted())
    assert sorted(Path(work.path).name for work in engine.asked) == [
        "broken.gcode", "checksum.gcode", "claims.gcode.gz", "off-plate.gcode",
    ]  # fmt: skip


def test_a_changed_card_costs_what_depends_on_it(folder: Path, known: Path, tmp_path: Path) -> None:
    """Of three readable contents: one printer's fit, the verdict with all fits, the verdict with one, or nothing."""
    what, store = wanted(draw_moves), copied(known, tmp_path)
    wren = msgspec.structs.replace(what.printers[2], pause_s=60.0)
    _, engine = rows_of(folder, store, msgspec_replace(what, printers=(*what.printers[:2], wren)))
    assert len(engine.asked) == 3
    assert all(not w.verdict and w.printers == (wren,) and w.draw is None for w in engine.asked)

    cards = what.cards
    dear = type(cards)(
        cards.printer, msgspec.structs.replace(cards.filament, price_per_kg=99.0), cards.workshop
    )
    rows, engine = rows_of(folder, store, msgspec_replace(what, cards=dear))
    assert len(engine.asked) == 3
    assert all(w.verdict and len(w.printers) == 3 and w.draw is None for w in engine.asked)
    assert rows[1].verdict is not None and rows[1].verdict.cost is not None and rows[1].verdict.mass_g > 0.4

    other = type(cards)(msgspec.structs.replace(cards.printer, pause_s=1.0), cards.filament, cards.workshop)
    _, engine = rows_of(folder, store, msgspec_replace(what, cards=other))
    assert all(w.verdict and w.printers == () and w.draw is None for w in engine.asked) and engine.asked

    rules = msgspec.structs.replace(
        cards.workshop, checks={"checksum": CheckRule(off=True, reason="old drive")}
    )
    rows, engine = rows_of(
        folder, store, msgspec_replace(what, cards=type(cards)(cards.printer, cards.filament, rules))
    )
    assert len(engine.asked) == 3 and [row.word for row in rows if row.path.endswith("twin.gcode")] != [
        "look"
    ]

    log = msgspec.structs.replace(cards.workshop, print_log="/elsewhere/prints.sqlite3")
    _, engine = rows_of(
        folder, store, msgspec_replace(what, cards=type(cards)(cards.printer, cards.filament, log))
    )
    assert engine.asked == []


def msgspec_replace(what: Wanted, **changes: object) -> Wanted:
    return Wanted(**({"cards": what.cards, "printers": what.printers, "draw": what.draw} | changes))  # type: ignore[arg-type]


def test_pictures_depend_on_all_that_reading_depends_on() -> None:
    assert set(_READING_KEYS) <= set(PICTURE_KEYS)


def test_rows_of_other_code_are_computed_again(folder: Path, known: Path, tmp_path: Path) -> None:
    store = copied(known, tmp_path)
    _, engine = rows_of(folder, store, wanted(), code="another")
    assert len(engine.asked) == 4


def test_size_and_time_of_change_spare_the_hashing(tmp_path: Path) -> None:
    path = tmp_path / "one.gcode"
    path.write_text("G28\n")
    long_ago = time.time_ns() - 10_000_000_000
    os.utime(path, ns=(long_ago, long_ago))
    with Remembered(tmp_path / "s", "code") as store:
        survey = Survey(wanted(), store, Here())
        content = survey._content(str(path))
        path.write_text("G29\n")
        os.utime(path, ns=(long_ago, long_ago))
        assert (
            survey._content(str(path)) == content
        )  # what stands for the content is the same: it is not read
        os.utime(path, ns=(long_ago + 1, long_ago + 1))
        assert survey._content(str(path)) != content
        now = time.time_ns()
        os.utime(path, ns=(now, now))
        second = survey._content(str(path))
        path.write_text("G92\n")
        os.utime(path, ns=(now, now))
        assert survey._content(str(path)) != second  # changed just now: its time says nothing yet


def test_what_is_gone_or_no_file_is_a_row(tmp_path: Path) -> None:
    (tmp_path / "link.gcode").symlink_to(tmp_path / "nowhere")
    with Remembered(tmp_path / "s", code_version()) as store:
        rows = list(
            Survey(wanted(), store, Here()).rows([str(tmp_path / "link.gcode"), str(tmp_path / "gone.gcode")])
        )
    assert [row.word for row in rows] == ["not read", "not read"]
    for row in rows:
        assert row.problem and row.content is None
        assert row.problem.sentence.startswith(f"{row.path} does not exist; look at the name")
    totals = dict(totals_lines(totals_of(rows)))
    assert totals == {"programs": "2", "not read": "2, could not be read"}  # no sums of nothing
    about = About(named=["jobs"], cards=wanted().cards, start=datetime(2026, 3, 2, 8, 0), code="this version")
    page = "".join(survey_page(rows, about))
    assert "Survey of 2 programs" in page and "<dl" not in page and "in all" not in page


def test_a_file_that_changes_meanwhile_is_told_and_not_remembered(tmp_path: Path) -> None:
    path = tmp_path / "one.gcode"
    path.write_bytes((FAULTY / "checksum.gcode").read_bytes())
    other = (FAULTY / "off-plate.gcode").read_bytes()

    class Changing(Here):
        def run(self, works):  # type: ignore[no-untyped-def]
            for work in works:
                path.write_bytes(other)
                yield from super().run([work])

    with Remembered(tmp_path / "s", code_version()) as store:
        rows = list(Survey(wanted(), store, Changing()).rows([str(path)]))
        assert rows[0].problem is not None and "changed while it was read" in rows[0].problem.sentence
        rows = list(Survey(wanted(), store, Here()).rows([str(path)]))
        assert [row.word for row in rows] == ["no"]


def test_a_rule_for_a_check_that_does_not_exist_ends_the_survey(folder: Path, tmp_path: Path) -> None:
    what = wanted()
    wrong = msgspec.structs.replace(what.cards.workshop, checks={"of-plate": CheckRule(off=True)})
    cards = type(what.cards)(what.cards.printer, what.cards.filament, wrong)
    with pytest.raises(CardError, match="off-plate"):
        rows_of(folder, tmp_path / "s", msgspec_replace(what, cards=cards))


def test_a_damaged_or_newer_store_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "damaged").write_bytes(b"no store" * 200)
    with pytest.raises(BeadlineError, match="delete it: all of it can be computed again"):
        Remembered(tmp_path / "damaged", "code")
    with Remembered(tmp_path / "newer", "code") as store:
        store._base.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    with pytest.raises(BeadlineError, match="newer Beadline"):
        Remembered(tmp_path / "newer", "code")


def test_a_file_that_is_named_twice_has_one_row(folder: Path) -> None:
    named = [str(folder / "checksum.gcode"), str(folder)]
    paths, _ = programs_in(named)
    assert len(without_repeats(paths)) == len(paths) - 1 == 5


def test_a_thousand_remembered_rows_come_at_once(folder: Path, known: Path, tmp_path: Path) -> None:
    """The bound is 2 s of a run; this is its share without the start of the process, in seconds of one core."""
    store = copied(known, tmp_path)
    paths = changed_copies(FAULTY / "checksum.gcode", tmp_path / "archive", 1000)
    long_ago = time.time_ns() - 10_000_000_000
    with Remembered(store, code_version()) as remembered:
        remembered._base.execute("PRAGMA synchronous = OFF")  # else 2,000 waits for the drive
        survey = Survey(wanted(), remembered, Here())
        parts = remembered.parts(survey._content(str(folder / "checksum.gcode")), with_pictures=True)
        for path in paths:
            os.utime(path, ns=(long_ago, long_ago))
            told = [(kind, key, data) for (kind, key), data in parts.items()]
            remembered.note_parts(survey._content(str(path)), told)
    begun = time.process_time()
    rows, engine = rows_of(tmp_path / "archive", store, wanted())
    text = json_text(survey_object(rows, START), indented=True)
    assert time.process_time() - begun < 1.0
    assert (len(rows), engine.asked) == (1000, []) and text.count('"worst"') == 1000


def test_a_link_that_leads_nowhere_is_a_row(tmp_path: Path) -> None:
    """Whoever copied it thinks that it is there."""
    box = tmp_path / "box"
    box.mkdir()
    (box / "tray.gcode").symlink_to(tmp_path / "gone.gcode")
    (box / "folder.gcode").mkdir()
    (row,), _ = rows_of(box, tmp_path / "s", wanted())
    assert row.path == str(box / "tray.gcode") and row.problem is not None
    assert "does not exist" in row.problem.sentence
