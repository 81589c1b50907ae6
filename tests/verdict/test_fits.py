"""Which printers take a program: where it fits, by how much it would have to be moved, and what it takes there."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import msgspec
import pytest

from tests.checks.on_paper import END, START, opened, opened_file, whole
from tests.programs import box
from viewer.__main__ import main
from viewer.cards import CheckRule, PrinterCard, load_printer, load_workshop
from viewer.checks.run import run_checks
from viewer.program import with_cards
from viewer.shown.fit_text import fit_object, fit_text
from viewer.shown.window.printers.fit_lines import word_of
from viewer.verdict.answer import Word
from viewer.verdict.fits import OF_THE_PRINTER, Fit, fits_of


def with_plate(width: float, depth: float, height: float = 100.0) -> PrinterCard:
    heron = load_printer("heron")
    plate = msgspec.structs.replace(heron.plate, width_mm=width, depth_mm=depth, left_mm=0.0, front_mm=0.0)
    return msgspec.structs.replace(heron, plate=plate, height_mm=height)


def only(folder: Path, text: str, printer: PrinterCard) -> Fit:
    (fit,) = fits_of(opened(folder, text), [printer])
    return fit


def test_a_part_on_the_plate_fits(tmp_path: Path) -> None:
    fit = only(tmp_path, whole(x=50.0), with_plate(200.0, 200.0))
    assert fit.fits and fit.moved_mm is None and not fit.about_zero


def test_a_part_beyond_the_right_edge_would_fit_moved_to_the_left(tmp_path: Path) -> None:
    # a box of 20 mm at X 50: its middle lines end at X 70
    fit = only(tmp_path, whole(x=50.0), with_plate(60.0, 200.0))
    assert fit.fits is False and fit.moved_mm == pytest.approx((-10.0, 0.0), abs=1e-3)


def test_moved_by_that_much_it_fits(tmp_path: Path) -> None:
    printer = with_plate(60.0, 200.0)
    fit = only(tmp_path, whole(x=50.0), printer)
    assert fit.moved_mm is not None
    moved = only(tmp_path, whole(x=50.0 + fit.moved_mm[0]), printer)
    assert moved.fits


@pytest.mark.parametrize("printer", [with_plate(19.0, 200.0), with_plate(60.0, 200.0, height=0.5)])
def test_a_part_that_is_too_large_fits_nowhere(tmp_path: Path, printer: PrinterCard) -> None:
    fit = only(tmp_path, whole(x=50.0), printer)
    assert fit.fits is False and fit.moved_mm is None


def test_a_part_about_zero_is_told(tmp_path: Path) -> None:
    text = (
        START
        + box(5, 20.0, x=-10.0)[0].replace("Y50.0000", "Y-10.0000").replace("Y70.0000", "Y10.0000")
        + END
    )
    fit = only(tmp_path, text, with_plate(200.0, 200.0))
    assert fit.about_zero and fit.moved_mm == pytest.approx((10.0, 10.0), abs=1e-3)


def test_without_a_plate_it_is_not_known(tmp_path: Path) -> None:
    heron = load_printer("heron")
    bare = msgspec.structs.replace(heron, plate=msgspec.structs.replace(heron.plate, width_mm=None))
    assert only(tmp_path, whole(), bare).fits is None


def test_another_nozzle_than_the_stated_one_is_told_and_another_filament_is_not(tmp_path: Path) -> None:
    stated = ";   extruderDiameter,0.8\n; filament_type = PETG\n" + whole(x=50.0)
    told = [one.sentence for one in only(tmp_path, stated, with_plate(200.0, 200.0)).findings]
    assert any("a nozzle of 0.8 mm" in sentence for sentence in told)
    assert not any("PETG" in sentence for sentence in told)


def test_without_a_bead_nothing_is_said_to_fit(tmp_path: Path) -> None:
    fit = only(tmp_path, "G28\nG1 X10 Y10 Z5 F3000\nG1 X60\n", load_printer("heron"))
    assert fit.fits is None and fit_object(fit)["fits"] is None
    assert fit_text(fit) == "not judged: nothing is extruded" and word_of(fit) is Word.NOT_KNOWN


def test_the_same_as_opened_with_that_card(tmp_path: Path) -> None:
    program, start = opened(tmp_path, whole()), datetime(2024, 5, 6, 14, 30)
    (fit,) = fits_of(program, [load_printer("dipper")], start)
    alone = with_cards(opened_file(program.path), printer=load_printer("dipper"))
    assert fit.time_s == alone.timing.total_s and fit.cost == alone.figures.filament.cost
    assert fit.findings == run_checks(alone, checks=OF_THE_PRINTER).findings
    assert fit.end is not None and (fit.end - start).total_seconds() == pytest.approx(fit.time_s, abs=1.0)


def test_a_workshop_card_may_have_rules_for_checks_that_are_not_of_the_printer(tmp_path: Path) -> None:
    rules = msgspec.structs.replace(load_workshop("quayside"), checks={"checksum": CheckRule(off=True)})
    program = with_cards(opened(tmp_path, whole(x=50.0)), workshop=rules)
    assert next(fits_of(program, [with_plate(200.0, 200.0)])).fits


def test_on_the_console(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)
    path = str(opened(tmp_path, whole(x=150.0)).path)
    assert main(["fits", path, "--start", "14:30"]) == 0
    out = capsys.readouterr().out
    assert "Heron   fits" in out and "Dipper  does not fit" in out and "done at 14:" in out
    assert main(["fits", path, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert [one["printer"] for one in plain["printers"]] == ["Dipper", "Heron", "Wren"]
    assert plain["printers"][0]["fits"] is False and plain["printers"][0]["counts"]["stop"] == 1
