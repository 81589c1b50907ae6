"""A card that agrees better with what the program states is offered; nothing where the chosen one does."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from tests.checks.on_paper import Changes, opened, whole
from viewer.__main__ import main
from viewer.cards import load_filament, load_printer, write_card
from viewer.checks.run import run_checks
from viewer.program import with_cards
from viewer.verdict.offers import Offer, offers_of


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of own cards: a thick PETG, and a printer with a nozzle of 0.8 mm."""
    folder = tmp_path / "bench"
    for kind in ("printers", "filaments"):
        (folder / kind).mkdir(parents=True)
    thick = msgspec.structs.replace(load_filament("petg"), name="PETG thick", diameter_mm=2.85)
    stork = msgspec.structs.replace(load_printer("heron"), name="Stork", nozzle_mm=0.8)
    large = msgspec.structs.replace(stork.plate, width_mm=900.0, depth_mm=900.0)
    egret = msgspec.structs.replace(stork, name="Egret", plate=large)
    write_card(thick, folder / "filaments" / "petg-thick.toml")
    write_card(stork, folder / "printers" / "stork.toml")
    write_card(egret, folder / "printers" / "egret.toml")
    (folder / "printers" / "broken.toml").write_text("name = 'Broken'\nnozzle_mm = 'wide'\n")
    monkeypatch.setenv("BEADLINE_CARDS", str(folder))
    return folder


def offered(folder: Path, settings: str, changes: Changes | None = None) -> list[tuple[str, str, str]]:
    offers = offers_of(opened(folder, settings + whole(3), changes))
    return [(offer.kind, offer.slug, offer.said) for offer in offers]


def test_the_card_of_the_stated_material(tmp_path: Path) -> None:
    petg = "; filament_type = PETG\n"
    assert offered(tmp_path, petg) == [("filament", "petg", "The file says PETG; the card is PLA")]
    assert not offered(tmp_path, petg, {"filament": {"name": "PETG blue"}})
    assert not offered(tmp_path, petg, {"filament": {"name": "The grey one"}})
    assert not offered(tmp_path, "; filament_type = PEEK\n")
    assert not offered(tmp_path, "")


def test_the_diameter_decides_among_cards_of_a_material(tmp_path: Path, bench: Path) -> None:
    both = "; filament_type = PETG\n; filament_diameter = 2.85\n"
    said = "The file says PETG, filament of 2.85 mm; the card is PLA of 1.75 mm"
    assert offered(tmp_path, both) == [("filament", "petg-thick", said)]
    assert not offered(tmp_path, "; filament_diameter = 2.85\n")  # no thick PLA here
    thick = offered(tmp_path, "; filament_diameter = 2.85\n", {"filament": {"name": "PETG"}})
    assert [slug for _, slug, _ in thick] == ["petg-thick"]


def test_the_smallest_printer_with_the_stated_nozzle(tmp_path: Path, bench: Path) -> None:
    wide = ";   extruderDiameter,0.8\n"
    said = "The file says a nozzle of 0.8 mm, which Heron does not have"
    assert offered(tmp_path, wide) == [("printer", "stork", said)]
    plate = wide + "; machine_width = 800\n; machine_depth = 800\n"
    assert [slug for _, slug, _ in offered(tmp_path, plate)] == ["egret"]
    assert not offered(tmp_path, ";   extruderDiameter,1.2\n")


def test_a_round_plate_must_hold_the_stated_rectangle_with_its_corners(tmp_path: Path) -> None:
    round_mm = load_printer("dipper").plate.diameter_mm
    assert round_mm is not None
    narrow: Changes = {"printer": {"plate": {"width_mm": 100.0, "depth_mm": 100.0}}}
    wide = ";   extruderDiameter,0.4\n; machine_width = {0}\n; machine_depth = {1}\n"
    beyond = wide.format(round_mm - 20.0, round_mm - 20.0)  # its diagonal is longer than the diameter
    assert "dipper" not in [slug for _, slug, _ in offered(tmp_path, beyond, narrow)]
    inside = wide.format(0.6 * round_mm, 0.8 * round_mm)
    assert "dipper" in [slug for _, slug, _ in offered(tmp_path, inside, narrow)]
    dipper = load_printer("dipper")
    said = run_checks(with_cards(opened(tmp_path, beyond + whole(3)), printer=dipper)).findings
    assert any(one.slug == "made-for" and "Dipper has a diameter of" in one.sentence for one in said)
    square = wide.format(round_mm, round_mm)  # the square around a round plate
    said = run_checks(with_cards(opened(tmp_path, square + whole(3)), printer=dipper)).findings
    assert not any(one.slug == "made-for" for one in said)


def test_no_printer_is_offered_beside_whose_plate_the_part_lies(tmp_path: Path, bench: Path) -> None:
    wide = ";   extruderDiameter,0.8\n"
    program = opened(tmp_path, wide + whole(3, x=600.0))
    assert [offer.slug for offer in offers_of(program)] == ["egret"]


def test_a_printer_by_its_own_name(tmp_path: Path) -> None:
    assert offered(tmp_path, "; printer_model = wren\n") == [
        ("printer", "wren", "The file says Wren; the card is Heron")
    ]
    assert not offered(tmp_path, "; printer_model = Heron\n")
    assert not offered(tmp_path, "; printer_model = Sandpiper\n")


def test_words_of_an_offer() -> None:
    assert Offer("filament", "petg", "PETG", "The file says PETG; the card is PLA").words == "Use PETG"


@pytest.mark.parametrize("command", ["vet", "figures"])
def test_the_console_names_the_option(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    path = opened(tmp_path, "; filament_type = PETG\n" + whole(3)).path
    main([command, str(path)])
    assert "The file says PETG; the card is PLA: use --filament petg." in capsys.readouterr().out
    main([command, str(path), "--filament", "petg"])
    assert "use --filament" not in capsys.readouterr().out
