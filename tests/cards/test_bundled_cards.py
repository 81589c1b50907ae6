"""The bundled cards: all valid, every value with its source, figures that fit the handbooks."""

from __future__ import annotations

import math
import tomllib

import pytest

from viewer.cards import Plate, list_cards, load_filament, load_printer, load_workshop, read_card
from viewer.cards.kinds import FOLDERS, Kind
from viewer.cards.toml_places import key_places


@pytest.fixture(autouse=True)
def no_own_cards(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path_factory.mktemp("bench")))


def test_the_set() -> None:
    names = {kind: [entry.name for entry in list_cards(kind)] for kind in FOLDERS}
    assert names == {
        "printer": ["Dipper", "Heron", "Wren"],
        "filament": ["ABS", "ASA", "PA", "PA-CF", "PC", "PETG", "PLA", "TPU"],
        "workshop": ["Quayside Repair Workshop"],
    }


@pytest.mark.parametrize("kind", ["printer", "filament", "workshop"])
def test_each_is_valid_and_named_like_its_file(kind: Kind) -> None:
    for entry in list_cards(kind):
        card = read_card(entry.path, kind)
        assert card.name.casefold().startswith(entry.slug)
        assert not entry.own


def test_the_printers() -> None:
    heron, wren, dipper = load_printer("heron"), load_printer("wren"), load_printer("dipper")
    assert heron.plate == Plate(width_mm=220.0, depth_mm=220.0)
    assert (heron.height_mm, heron.nozzle_mm, heron.nozzle_hardened) == (250.0, 0.4, False)
    assert (wren.plate.width_mm, wren.plate.depth_mm, wren.height_mm) == (280.0, 280.0, 240.0)
    assert wren.nozzle_hardened
    assert wren.print_acceleration_mm_s2 >= 10_000
    assert dipper.plate == Plate(shape="circle", diameter_mm=200.0)
    assert dipper.homing.z_mm == dipper.height_mm
    assert [p.corner.rule for p in (heron, wren, dipper)] == ["jerk", "right-angle", "junction-deviation"]
    for printer in (heron, wren, dipper):
        # what it prints and travels with is within what its axes do
        usual = max(printer.print_acceleration_mm_s2, printer.travel_acceleration_mm_s2)
        assert usual <= min(printer.max_acceleration_mm_s2.x, printer.max_acceleration_mm_s2.y)
        assert printer.retract_acceleration_mm_s2 <= printer.max_acceleration_mm_s2.e


def test_the_workshop() -> None:
    quayside = load_workshop()
    assert quayside.currency == "EUR"
    assert quayside.charge_per_hour > 0
    assert quayside.hours is not None
    assert (quayside.hours.opens, quayside.hours.closes) == ("09:00", "18:00")


# Ranges of unfilled grades in plastics handbooks, ISO 1183, g/cm3; values from memory.
HANDBOOK_G_CM3 = {
    "PLA": (1.21, 1.27),
    "PETG": (1.23, 1.29),
    "ABS": (1.03, 1.07),
    "ASA": (1.06, 1.08),
    "TPU": (1.10, 1.25),
    "PA": (1.01, 1.02),
    "PC": (1.19, 1.21),
}


@pytest.mark.parametrize("name", sorted(HANDBOOK_G_CM3))
def test_densities_lie_in_the_handbook_range(name: str) -> None:
    low, high = HANDBOOK_G_CM3[name]
    assert low <= load_filament(name).density_g_cm3 <= high


def test_the_filled_density_follows_from_the_mixture() -> None:
    """Rule of mixtures (any textbook of composites): volumes add, 1/rho = sum of mass fraction / density."""
    mixed = 1 / (0.85 / load_filament("pa").density_g_cm3 + 0.15 / 1.78)  # carbon fibre 1.78, from memory
    assert load_filament("pa-cf").density_g_cm3 == pytest.approx(mixed, abs=0.005)


def test_a_kilogram_of_pla_is_about_335_m() -> None:
    """Follows from the density: length = mass / (density x pi d^2 / 4)."""
    pla = load_filament("pla")
    assert pla.diameter_mm == 1.75
    volume_mm3 = 1000.0 / pla.density_g_cm3 * 1000.0
    length_m = volume_mm3 / (math.pi * pla.diameter_mm**2 / 4) / 1000.0
    assert length_m == pytest.approx(335, abs=1)


def test_17_g_at_25_a_kilogram_cost_about_43_cents() -> None:
    """Common practice, no source."""
    price = load_filament("pla").price_per_kg
    assert price is not None
    assert 17 * price / 1000 == pytest.approx(0.43, abs=0.01)


def test_every_value_of_a_filament_names_its_source() -> None:
    for entry in list_cards("filament"):
        text = entry.path.read_text(encoding="utf-8")
        places = key_places(text)
        for key in tomllib.loads(text).keys() - {"name", "cautions"}:
            rest = text[places[(key,)].end :].split("\n")
            comment = rest[0] + " ".join(line for line in rest[1:2] if line.startswith("      "))
            assert "#" in rest[0], (entry.slug, key)
            assert "common practice, no source" in comment or "from memory" in comment, (entry.slug, key)
        assert "# Cautions: common practice, no source" in text


def test_every_value_of_a_printer_says_where_it_comes_from() -> None:
    for entry in list_cards("printer"):
        head = entry.path.read_text(encoding="utf-8").split("\n\n")[0]
        assert "common practice, no source, from memory" in head.replace("\n# ", " ")


def test_cautions_are_calm_whole_sentences_that_defer() -> None:
    for entry in list_cards("filament"):
        cautions = read_card(entry.path, "filament").cautions
        assert any("manual" in caution for caution in cautions)
        for caution in cautions:
            assert caution.endswith(".")
            assert caution.count(". ") == 0
            assert "!" not in caution
            assert "safe" not in caution.replace("safety data sheet", "")
    for name in ("ABS", "ASA"):
        assert any(
            "styrene" in caution
            and "ventilate" in caution
            and "local rules" in caution
            and "safety data sheet" in caution
            for caution in load_filament(name).cautions
        )
