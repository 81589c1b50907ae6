"""Cards written and read again; a write that fails leaves what was there."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from viewer.cards import (
    Axes,
    CheckRule,
    Corner,
    FilamentCard,
    Heat,
    Homing,
    Hours,
    Plate,
    PrinterCard,
    Window,
    WorkshopCard,
    list_cards,
    load_filament,
    load_printer,
    read_card,
    write_card,
)
from viewer.cards.kinds import Card, Kind, kind_of
from viewer.cards.toml_card import card_of_text
from viewer.cards.toml_text import text_of_card
from viewer.cards.workshop import WORD_ROLES
from viewer.errors import CardError, OutputError

anything = st.floats(allow_nan=False, allow_infinity=False)
not_negative = st.floats(0, 1e300)
positive = st.floats(0, 1e300, exclude_min=True)
text = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
names = text.filter(str.strip)
axes = st.builds(Axes, x=positive, y=positive, z=positive, e=positive)
clock = st.times().map(lambda t: t.strftime("%H:%M"))


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


plates = (
    st.just(Plate())
    | st.builds(Plate, width_mm=positive, depth_mm=positive, left_mm=anything, front_mm=anything)
    | st.builds(Plate, shape=st.just("circle"), diameter_mm=positive, left_mm=anything, front_mm=anything)
)
corners = (
    st.builds(Corner, jerk_mm_s=axes, junction_deviation_mm=maybe(positive))
    | st.builds(
        Corner,
        rule=st.just("junction-deviation"),
        junction_deviation_mm=positive,
        right_angle_mm_s=maybe(positive),
    )
    | st.builds(Corner, rule=st.just("right-angle"), right_angle_mm_s=positive, jerk_mm_s=maybe(axes))
)
printers = st.builds(
    PrinterCard,
    name=names,
    plate=plates,
    height_mm=maybe(positive),
    nozzle_mm=positive,
    nozzle_hardened=st.booleans(),
    tools=st.integers(1, 64),
    max_speed_mm_s=axes,
    max_acceleration_mm_s2=axes,
    print_acceleration_mm_s2=positive,
    travel_acceleration_mm_s2=positive,
    retract_acceleration_mm_s2=positive,
    corner=corners,
    planner_buffer_moves=st.integers(0, 2**62),
    min_segment_time_s=not_negative,
    homing=st.builds(Homing, x_mm=anything, z_mm=anything, seconds=not_negative),
    heat=st.builds(Heat, nozzle_max_c=maybe(positive), plate_warming_c_s=positive, room_c=anything),
    melt_mm3_s=maybe(positive),
    power_w=maybe(not_negative),
    bare_axis_words=st.booleans(),
)
windows = st.tuples(anything, anything).map(lambda pair: Window(low=min(pair), high=max(pair)))
filaments = st.builds(
    FilamentCard,
    name=names,
    density_g_cm3=st.floats(0, 22.6, exclude_min=True),
    diameter_mm=maybe(positive),
    price_per_kg=maybe(not_negative),
    nozzle_c=maybe(windows),
    plate_c=maybe(windows),
    abrasive=st.booleans(),
    layer_s=maybe(not_negative),
    fan_percent=maybe(st.floats(0, 100)),
    fan_from_layer=st.integers(1, 10**6),
    cautions=st.lists(text, max_size=3).map(tuple),
)
rules = st.builds(
    CheckRule,
    off=st.booleans(),
    reason=text,
    severity=maybe(st.sampled_from(["stop", "look", "note"])),
    limit=maybe(anything),
)
hours = st.tuples(clock, clock).filter(lambda pair: pair[0] != pair[1])
workshops = st.builds(
    WorkshopCard,
    name=names,
    currency=text,
    charge_per_hour=not_negative,
    price_per_kwh=maybe(not_negative),
    hours=maybe(hours.map(lambda pair: Hours(opens=pair[0], closes=pair[1]))),
    checks=st.dictionaries(text, rules, max_size=3),
    words=st.dictionaries(names, st.sampled_from(WORD_ROLES), max_size=3),
)


@settings(max_examples=200, deadline=None)
@given(printers | filaments | workshops)
def test_a_written_card_is_read_back_exactly(card: Card) -> None:
    again = card_of_text(text_of_card(card), kind_of(card), "mine.toml")
    assert again == card
    assert repr(again) == repr(card)  # also tells 0.0 from -0.0 and 1 from 1.0


@pytest.mark.parametrize("kind", ["printer", "filament", "workshop"])
def test_bundled_cards_survive_the_file(kind: Kind, tmp_path: Path) -> None:
    for entry in list_cards(kind):
        card = read_card(entry.path, kind)
        write_card(card, tmp_path / "deeper" / f"{entry.slug}.toml")
        assert read_card(tmp_path / "deeper" / f"{entry.slug}.toml", kind) == card


def test_comments_are_the_structs_own_words() -> None:
    written = text_of_card(FilamentCard(name="PLA", density_g_cm3=1.24))
    assert "density_g_cm3 = 1.24  # density of the solid, g/cm3\n" in written
    assert "# layer_s =  # shortest layer time that lets a layer set, s (not known)\n" in written
    printer = text_of_card(load_printer("wren"))
    assert "# The build platform: where beads may lie, mm.\n[plate]\n" in printer
    assert "# jerk_mm_s = { x = , y = , z = , e = }" in printer
    assert max(map(len, printer.splitlines())) <= 100


def test_what_is_unknown_can_be_filled_in_at_its_comment() -> None:
    written = text_of_card(FilamentCard(name="PLA", density_g_cm3=1.24))
    filled = written.replace("# nozzle_c = { low = , high = }", "nozzle_c = { low = 190, high = 230 }")
    card = card_of_text(filled, "filament", "mine.toml")
    assert card == FilamentCard(name="PLA", density_g_cm3=1.24, nozzle_c=Window(low=190.0, high=230.0))


def test_a_card_that_could_not_be_read_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    bad = FilamentCard(name="PLA", density_g_cm3=1.24, nozzle_c=Window(low=230.0, high=200.0))
    with pytest.raises(CardError, match=r"`nozzle_c.low` is 230, above `nozzle_c.high` \(200\)"):
        write_card(bad, path)
    with pytest.raises(CardError, match="another type than its fields"):
        write_card(FilamentCard(name="PLA", density_g_cm3=1.24, cautions=["hot"]), path)  # type: ignore[arg-type]
    with pytest.raises(CardError, match="not TOML"):
        write_card(FilamentCard(name="lone \ud800", density_g_cm3=1.24), path)
    assert list(tmp_path.iterdir()) == []


def full(*_: Any, **__: Any) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_card(step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "mine.toml"
    write_card(load_filament("pla"), path)
    before = path.read_bytes()
    monkeypatch.setattr(os if step == "fsync" else Path, step, full)
    with pytest.raises(OutputError) as caught:
        write_card(load_filament("abs"), path)
    assert str(caught.value) == (
        f"{path}: the card could not be written (No space left on device), nothing was changed; "
        "free some space or choose another place."
    )
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


LIMITED = """
import resource, sys
from viewer.cards import load_printer, write_card
from viewer.errors import OutputError
card = load_printer("heron")
resource.setrlimit(resource.RLIMIT_FSIZE, (500, 500))
try:
    write_card(card, sys.argv[1])
except OutputError as error:
    sys.exit(str(error))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no file size limit to set")
def test_a_write_cut_short_by_the_system_leaves_nothing(tmp_path: Path) -> None:
    """The kernel itself stops the write after 500 bytes; nothing is replaced by a test's own function."""
    path = tmp_path / "mine.toml"
    path.write_text("# old\n", encoding="utf-8")
    root = Path(__file__).parents[2]
    run = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)], cwd=root, capture_output=True, text=True, check=False
    )
    assert run.returncode == 1
    assert run.stderr.strip().startswith(f"{path}: the card could not be written (File too large), nothing")
    assert path.read_text(encoding="utf-8") == "# old\n"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(sys.platform == "win32", reason="device files are another matter there")
def test_a_device_is_never_replaced(tmp_path: Path) -> None:
    with pytest.raises(
        OutputError, match=r"/dev/full is not a file, so no card was written; choose another name"
    ):
        write_card(load_filament("pla"), "/dev/full")
    assert Path("/dev/full").is_char_device()
    link = tmp_path / "link.toml"
    link.symlink_to(tmp_path / "target.toml")
    write_card(load_filament("pla"), link)
    assert link.is_symlink()
    assert read_card(tmp_path / "target.toml", "filament").name == "PLA"


@pytest.mark.skipif(sys.platform == "win32", reason="it has no such rights")
def test_a_replaced_card_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "shared.toml"
    write_card(load_filament("pla"), path)
    path.chmod(0o664)  # a shared bench: the group may write
    write_card(load_filament("abs"), path)
    assert path.stat().st_mode & 0o777 == 0o664


def test_the_folder_of_a_card_may_be_a_file(tmp_path: Path) -> None:
    (tmp_path / "cards").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match=r"the card could not be written \((File exists|Not a directory)\)"):
        write_card(load_filament("pla"), tmp_path / "cards" / "pla.toml")


NESTED: dict[type[msgspec.Struct], list[type[msgspec.Struct]]] = {
    PrinterCard: [Plate, Corner, Homing, Heat],
    FilamentCard: [],
    WorkshopCard: [CheckRule],
}


@pytest.mark.parametrize(
    "card", [load_printer(), load_filament(), WorkshopCard(checks={"thin": CheckRule()})], ids=kind_of
)
def test_every_field_stands_in_the_text(card: Card) -> None:
    """A field that is added to a struct is written too, as a value or as a comment to fill in."""
    lines = text_of_card(card).splitlines()
    for struct in (type(card), *NESTED[type(card)]):
        for field in msgspec.structs.fields(struct):
            starts = (f"{field.name} =", f"# {field.name} =", f"[{field.name}]", f"# [{field.name}]")
            assert any(line.startswith(starts) for line in lines), field.name
