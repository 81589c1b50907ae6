"""Bundled and own cards: found by name, replaced by the keeper's, copied under a new name."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import msgspec
import platformdirs
import pytest

from viewer.cards import (
    FilamentCard,
    cards_folder,
    find_card,
    list_cards,
    load_filament,
    load_printer,
    load_workshop,
    new_card,
    read_card,
    write_card,
)
from viewer.cards.kinds import DEFAULTS, Card, Kind
from viewer.errors import CardError, OutputError

KINDS: list[Kind] = ["printer", "filament", "workshop"]


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder of own cards."""
    folder = tmp_path / "bench"
    folder.mkdir()
    monkeypatch.setenv("BEADLINE_CARDS", str(folder))
    return folder


def write_filament(own: Path, slug: str, name: str, density: float = 1.3) -> Path:
    path = own / "filaments" / f"{slug}.toml"
    write_card(FilamentCard(name=name, density_g_cm3=density), path)
    return path


def test_defaults_and_names_in_any_case() -> None:
    assert load_printer().name == "Heron"
    assert load_filament().name == "PLA"
    assert load_workshop().name == "Quayside Repair Workshop"
    assert load_workshop("QUAYSIDE repair workshop ") == load_workshop("quayside")
    assert load_filament("pa-cf") == load_filament("PA-CF")


def test_a_path_is_taken_as_a_path(own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "elsewhere.toml"
    write_card(FilamentCard(name="Elsewhere", density_g_cm3=1.1), path)
    monkeypatch.chdir(tmp_path)
    for given in (path, str(path), "elsewhere.toml", "./elsewhere.toml"):
        assert load_filament(given).name == "Elsewhere"
    with pytest.raises(CardError, match="there is no such card; correct the name or the folder"):
        load_filament("gone/elsewhere")
    with pytest.raises(CardError, match="there is no such card"):
        load_filament(Path("pla"))  # a Path is never a name


def test_an_unknown_name_lists_the_nearest() -> None:
    with pytest.raises(CardError) as caught:
        load_printer("Herron")
    assert str(caught.value) == (
        'There is no printer card named "Herron", the nearest is Heron; '
        "take it or give the path of a .toml file."
    )
    with pytest.raises(CardError) as caught:
        load_printer("zzz")
    assert str(caught.value) == (
        'There is no printer card named "zzz", known are Dipper, Heron, Wren; '
        "take one of them or give the path of a .toml file."
    )


def test_an_own_card_replaces_the_bundled_one_by_file_name(own: Path) -> None:
    write_filament(own, "PLA", "Grey from the shelf", 1.31)
    assert load_filament("pla").density_g_cm3 == 1.31
    assert load_filament("grey from the shelf").density_g_cm3 == 1.31
    listed = [(e.name, e.slug, e.own) for e in list_cards("filament") if e.own or e.slug == "pla"]
    assert listed == [("Grey from the shelf", "PLA", True)]


def test_an_own_card_replaces_the_bundled_one_by_name(own: Path) -> None:
    path = write_filament(own, "shelf-3", "pla", 1.32)
    assert load_filament("PLA").density_g_cm3 == 1.32
    assert find_card("filament", "PLA") == path
    assert [e.own for e in list_cards("filament") if e.name.casefold() == "pla"] == [True]
    assert len(list_cards("filament")) == 8


def test_an_own_card_answers_to_all_names_of_the_one_it_replaces(own: Path) -> None:
    path = new_card("workshop", "Quayside Repair Workshop")
    assert path.stem == "quayside-repair-workshop"
    assert [entry.path for entry in list_cards("workshop")] == [path]
    assert find_card("workshop", "quayside") == path
    path.write_text('name = "quayside repair workshop"\ncurrency = "GBP"\n', encoding="utf-8")
    assert load_workshop().currency == "GBP"


def test_a_broken_own_card_is_never_passed_over_for_the_bundled_one(own: Path) -> None:
    folder = own / "filaments"
    folder.mkdir()
    (folder / "mine.toml").write_text('name = "PETG"\ndensity = [\n', encoding="utf-8")
    (folder / "pla.toml").write_bytes(b"\xff\xfe\0")
    with pytest.raises(CardError, match=r"mine.toml, line 2: this is not TOML"):
        load_filament("petg")
    with pytest.raises(CardError, match=r"pla.toml, line 1: this is not UTF-8 text"):
        load_filament("pla")
    assert load_filament("abs").name == "ABS"
    assert ("PETG", True) in [(e.name, e.own) for e in list_cards("filament")]


def test_two_own_cards_of_one_name_are_refused_unless_the_file_name_tells(own: Path) -> None:
    first, second = write_filament(own, "a", "Shelf", 1.1), write_filament(own, "b", "shelf", 1.2)
    with pytest.raises(CardError) as caught:
        load_filament("SHELF")
    assert str(caught.value) == (
        f'"SHELF" is the name of two filament cards, {first} and {second}; rename one of them.'
    )
    assert load_filament("b").density_g_cm3 == 1.2


def test_the_folders(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert cards_folder("workshop") == own / "workshops"
    monkeypatch.setenv("BEADLINE_CARDS", "")
    expected = platformdirs.user_config_path("beadline", appauthor=False) / "printers"
    assert cards_folder("printer") == expected
    monkeypatch.setenv("BEADLINE_CARDS", str(own / "mistyped"))
    with pytest.raises(CardError) as caught:
        load_printer("heron")
    assert str(caught.value) == (
        f"BEADLINE_CARDS names the folder {own / 'mistyped'}, which is not there; "
        "make it, or correct or unset the variable."
    )
    monkeypatch.setenv("BEADLINE_CARDS", str(own))
    (own / "printers").write_text("", encoding="utf-8")
    with pytest.raises(CardError, match=r"printers: the cards could not be listed \(Not a directory\)"):
        list_cards("printer")


def test_only_toml_files_that_are_not_hidden_are_cards(own: Path) -> None:
    path = write_filament(own, "shelf", "Shelf")
    (path.parent / "notes.txt").write_text("x", encoding="utf-8")
    (path.parent / ".shelf.toml").write_text("x", encoding="utf-8")
    assert [e.path for e in list_cards("filament") if e.own] == [path]


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_card_is_the_old_one_under_a_new_name(kind: Kind, own: Path) -> None:
    loads: dict[Kind, Callable[[], Card]] = {
        "printer": load_printer,
        "filament": load_filament,
        "workshop": load_workshop,
    }
    load = loads[kind]
    path = new_card(kind, ' Second "bench" / 2')
    assert path == cards_folder(kind) / "second-bench-2.toml"
    assert read_card(find_card(kind, "second-bench-2"), kind) == msgspec.structs.replace(
        load(), name='Second "bench" / 2'
    )
    old = find_card(kind, DEFAULTS[kind])
    head, blank, *copied = path.read_text("utf-8").splitlines()
    assert head.startswith('# "Second \\"bench\\" / 2" began as a copy of the card')
    assert blank == "#"
    changed = [
        pair for pair in zip(old.read_text("utf-8").splitlines(), copied, strict=True) if pair[0] != pair[1]
    ]
    assert changed == [(f'name = "{load().name}"', 'name = "Second \\"bench\\" / 2"')]


def test_a_new_card_like_another_one(own: Path) -> None:
    assert load_printer(new_card("printer", "Heron", like="dipper")).plate.shape == "circle"
    assert load_printer("heron").plate.shape == "circle"  # it took the bundled one's place
    nameless = own / "workshops" / "nameless.toml"
    nameless.parent.mkdir()
    nameless.write_text("# ours\ncharge_per_hour = 3\n", encoding="utf-8")
    path = new_card("workshop", "Pier", like="nameless")
    assert path.read_text("utf-8") == 'name = "Pier"\n# ours\ncharge_per_hour = 3\n'


def test_a_new_card_never_overwrites(own: Path) -> None:
    path = new_card("printer", "Second bench")
    before = path.read_bytes()
    for name in ("Second bench", "second-BENCH", "second  bench!"):
        with pytest.raises(OutputError) as caught:
            new_card("printer", name, like="wren")
        assert str(caught.value) == (
            f"{path}: there is such a printer card already; choose another name or edit it."
        )
    write_filament(own, "shelf-3", "Blue")
    with pytest.raises(OutputError, match=r"shelf-3.toml: there is such a filament card already"):
        new_card("filament", "BLUE")
    assert path.read_bytes() == before


def test_a_new_card_needs_a_name_and_a_valid_pattern(own: Path) -> None:
    with pytest.raises(
        CardError, match=r'The name "!\?" has no letter or digit to name a file by; choose another'
    ):
        new_card("printer", "!?")
    with pytest.raises(CardError, match="The new printer card has no name; give it one"):
        new_card("printer", "  ")
    assert new_card("printer", "../../Möwe").name == "möwe.toml"
    assert sorted(p.relative_to(own).as_posix() for p in own.rglob("*.toml")) == ["printers/möwe.toml"]


def test_importing_the_cards_is_light() -> None:
    code = "import sys, viewer.cards; print(*sys.modules)"
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(run.stdout.split())
    assert "msgspec" in loaded
    assert not loaded & {
        "numba",
        "numpy",
        "scipy",
        "platformdirs",
        "difflib",
        "PySide6",
        "rich",
        "importlib.resources",
    }


def test_a_folder_that_ends_like_a_card_is_none(own: Path) -> None:
    (own / "workshops" / "quayside.toml").mkdir(parents=True)
    assert load_workshop().name == "Quayside Repair Workshop"
    assert all(entry.path.is_file() for entry in list_cards("workshop"))
