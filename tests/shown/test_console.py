"""The console in this process: what goes where, and the exit status."""

from __future__ import annotations

import csv
import gzip
import io
import json
import math
import os
import re
from itertools import pairwise
from pathlib import Path

import pytest

from tests.shown.conftest import SAMPLES, opened
from viewer import __version__
from viewer.__main__ import main
from viewer.shown.console.layers_csv import LAYER_COLUMNS, layers_csv
from viewer.shown.json_text import json_text

HOOK = str(SAMPLES / "coat_hook_pause.gcode")
WASHERS = str(SAMPLES / "tap_washers_bare.gcode")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _no_display(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture(autouse=True)
def _no_first_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)


def test_a_table_for_people(capsys: Captured) -> None:
    assert main(["figures", HOOK]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert re.search(r"^  in all +31 min \d+ s$", out, re.MULTILINE)
    assert re.search(r"^  layers +42$", out, re.MULTILINE)
    assert "\x1b" not in out
    assert all(len(line) <= 100 for line in out.splitlines() if "/" not in line)
    assert not any(line != line.rstrip() for line in out.splitlines())


def test_several_files_and_one_bad(capsys: Captured, tmp_path: Path) -> None:
    assert main(["figures", HOOK, str(tmp_path / "gone.gcode"), WASHERS]) == 2
    out, err = capsys.readouterr()
    assert [line.split()[-1] for line in out.splitlines() if line.startswith("  file ")] == [HOOK, WASHERS]
    assert err.count("\n") == 1 and "gone.gcode does not exist" in err


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty (0 bytes)"),
        (b"\x7fELF" + bytes(200), "is an executable"),
        (bytes(range(256)) * 20, "is not text"),
        (None, "is a folder; name a program file in it, or survey all of it (`beadline survey`)."),
    ],
)
def test_what_is_no_program(capsys: Captured, tmp_path: Path, content: bytes | None, sentence: str) -> None:
    file = tmp_path / "thing"
    if content is None:
        file.mkdir()
    else:
        file.write_bytes(content)
    assert main(["figures", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and sentence in err and err.count("\n") == 1


def test_the_layer_table_adds_up(capsys: Captured, tmp_path: Path) -> None:
    out_file = tmp_path / "layers.csv"
    assert main(["figures", HOOK, "--layers-csv", str(out_file)]) == 0
    assert capsys.readouterr() == ("", "")
    rows = list(csv.DictReader(io.StringIO(out_file.read_text())))
    program = opened("coat_hook_pause.gcode")
    assert len(rows) == len(program.layers) + 2
    assert [row["layer"] for row in rows] == [str(n) for n in range(len(rows))]
    assert rows[0]["height_mm"] == rows[-1]["height_mm"] == ""

    def total(column: str) -> float:
        return math.fsum(float(row[column]) for row in rows)

    assert total("time_s") == pytest.approx(program.timing.total_s, abs=1e-3)
    assert total("drawn_mm") == pytest.approx(program.totals.drawn_mm, rel=1e-6)
    assert total("bead_mm") == pytest.approx(program.figures.path["bead_mm"], rel=1e-7)
    assert total("travel_mm") == pytest.approx(program.figures.path["travel_mm"], rel=1e-7)
    roles = [name for name in rows[0] if name not in LAYER_COLUMNS]
    assert math.fsum(map(total, roles)) == pytest.approx(total("bead_mm"), rel=1e-7)
    for before, after in pairwise(rows):
        assert float(before["start_s"]) + float(before["time_s"]) == pytest.approx(
            float(after["start_s"]), abs=1e-4
        )


def test_the_layer_table_of_no_layers(tmp_path: Path) -> None:
    from viewer import open_program

    file = tmp_path / "none.gcode"
    file.write_text("G28\nG1 X10 F6000\nM84\n")
    rows = list(csv.DictReader(io.StringIO("".join(layers_csv(open_program(file))))))
    assert len(rows) == 2
    assert float(rows[0]["time_s"]) + float(rows[1]["time_s"]) == pytest.approx(
        open_program(file).timing.total_s
    )


def test_the_layer_table_to_standard_output(capsys: Captured) -> None:
    assert main(["figures", HOOK, "--layers-csv", "-"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("layer,object,height_mm,") and err == ""


def test_the_layer_table_takes_one_file(capsys: Captured) -> None:
    assert main(["figures", HOOK, WASHERS, "--layers-csv", "-"]) == 2
    assert "name one FILE" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk(capsys: Captured) -> None:
    assert main(["figures", HOOK, "--layers-csv", "/dev/full"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and "No space left on device" in err


def test_gzip_is_the_same(capsys: Captured, tmp_path: Path) -> None:
    packed = tmp_path / "hook.gcode.gz"
    packed.write_bytes(gzip.compress(Path(HOOK).read_bytes()))
    assert main(["figures", str(packed)]) == 0
    packed_out = capsys.readouterr().out.split("Time\n", 1)[1]
    assert main(["figures", HOOK]) == 0
    assert packed_out.split() == capsys.readouterr().out.split("Time\n", 1)[1].split()


def test_cards_change_the_figures(capsys: Captured) -> None:
    times = set()
    for printer in ("heron", "Wren", "dipper"):
        assert main(["figures", HOOK, "--printer", printer, "--filament", "petg"]) == 0
        out = capsys.readouterr().out
        assert re.search(r"^  filament +PETG$", out, re.MULTILINE)
        times.add(re.search(r"^  in all +(.*)$", out, re.MULTILINE)[1])  # type: ignore[index]
    assert len(times) == 3


@pytest.mark.parametrize(
    ("argv", "sentence"),
    [
        (["figures"], "FILE is missing; see beadline figures --help."),
        (["figures", "a", "--jsn"], "There is no option --jsn, the nearest is --json; see"),
        (
            ["figures", "a", "--json", "--layers-csv", "-"],
            "--json and --layers-csv do not go together; leave one of them out; see",
        ),
        (
            ["figures", "a", "--printer", "hern"],
            'There is no printer card named "hern", the nearest is Heron; take it',
        ),
        (["figures", "a", "--printer", ""], 'There is no printer card named ""'),
        (["figures", "a", "--qqqq=3"], "There is no option --qqqq; see beadline figures --help."),
        (["sheet", "a", "b"], "There is no place for b in this command; see beadline sheet --help."),
        (["cards", "new", "printer", "a", "--lik", "b"], "no option --lik, the nearest is --like; see"),
        (["help"], "There is no file help; `beadline --help` lists the commands."),
        (["explain", "of-plate"], "the nearest is off-plate"),
        (["figure", "a"], "There is no file figure; the command is spelt `beadline figures`."),
        (["cards", "new"], "KIND and NAME are missing; see"),
        (["cards", "new", "printer"], "NAME is missing; see"),
        (["cards", "new", "kettle", "a"], "'kettle' is no KIND; write printer or filament or workshop; see"),
        (["figures", "a", "--printer"], "--printer needs a value behind it; see"),
        (["figures", "a", "--json=3"], "--json takes no value; leave '3' out; see"),
    ],
)
def test_mistakes_get_one_sentence(capsys: Captured, argv: list[str], sentence: str) -> None:
    assert main(argv) == 2
    out, err = capsys.readouterr()
    assert out == "" and sentence in err and err.count("\n") == 1


def test_help_and_version(capsys: Captured) -> None:
    assert main(["--help"]) == 0
    assert "beadline figures FILE..." in capsys.readouterr().out
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"beadline {__version__}\n"
    for command in ("figures", "vet", "explain", "cards", "sheet"):
        assert main([command, "--help"]) == 0
        assert f"beadline {command}" in capsys.readouterr().out


def test_without_a_display_the_figures_are_printed(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.platform", "linux")  # others have a display, where a window must not open here
    assert main([HOOK]) == 0
    out, err = capsys.readouterr()
    assert "there is no display" in err and err.count("\n") == 1
    assert "in all" in out
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert out == "" and "`beadline figures FILE`" in err


def test_the_window_gets_file_and_cards(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str | None, ...]] = []

    def window(*names: str | None) -> int:
        asked.append(names)
        return 7

    monkeypatch.setattr("viewer.__main__.open_window", window)
    assert main(["a.gcode", "--printer", "wren", "--workshop", "w.toml"]) == 7
    assert main([]) == 7
    assert asked == [("a.gcode", "wren", None, "w.toml"), (None, None, None, None)]


def test_cards_are_listed_and_written(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path))
    assert main(["cards"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"^  Heron +heron +bundled \(taken if none is named\)$", out, re.MULTILINE)
    assert str(tmp_path / "printers") in out
    assert main(["cards", "new", "printer", "My Wren", "--like", "wren"]) == 0
    written = tmp_path / "printers" / "my-wren.toml"
    assert capsys.readouterr().out == f"{written}\n" and written.is_file()
    assert main(["cards"]) == 0
    assert str(written) in capsys.readouterr().out
    assert main(["figures", HOOK, "--printer", "my wren"]) == 0
    assert re.search(r"^  printer +My Wren$", capsys.readouterr().out, re.MULTILINE)
    assert main(["cards", "new", "printer", "My Wren"]) == 2
    assert "choose another name" in capsys.readouterr().err
    assert main(["cards", "new", "printer", "heron", "--like", "heron"]) == 0
    assert capsys.readouterr().err == "It takes the place of the bundled printer card of this name.\n"


def test_a_line_is_explained(capsys: Captured) -> None:
    assert main(["explain", "G1 X10.5 F1200"]) == 0
    out = capsys.readouterr().out
    assert [line.split()[0] for line in out.splitlines() if line[0] != " "] == ["G1", "X10.5", "F1200"]
    assert "20 mm/s" in out  # 1200 mm/min


@pytest.mark.parametrize("argv", [["--help"], ["--version"], ["figures", "--help"], ["cards"]])
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_help_on_a_full_disk(monkeypatch: pytest.MonkeyPatch, capsys: Captured, argv: list[str]) -> None:
    with Path("/dev/full").open("w") as full:
        monkeypatch.setattr("sys.stdout", full)
        assert main(argv) == 2
    assert "No space left on device" in capsys.readouterr().err


@pytest.mark.skipif(os.name == "nt", reason="no such names there")
def test_a_name_cannot_command_the_terminal(capsys: Captured, tmp_path: Path) -> None:
    """A file's name comes from somebody else; ESC and line ends in it are written out."""
    bad = tmp_path / "a\nb\x1b[31m\u202ec.gcode"
    bad.write_bytes(Path(WASHERS).read_bytes())
    for argv in (["figures", str(bad)], ["vet", str(bad)], ["figures", f"{bad}.gone"]):
        main(argv)
        out, err = capsys.readouterr()
        assert not {"\x1b", "\u202e"} & set(out + err) and "b\\x1b[31m\\u202ec.gcode" in out + err
    main(["vet", str(bad)])
    assert capsys.readouterr().out.startswith(str(tmp_path / "a\\nb"))
    main(["figures", "--json", str(bad)])
    assert json.loads(capsys.readouterr().out)["program"]["path"] == str(bad)


def test_no_number_becomes_null() -> None:
    text = json_text({"a": math.nan, "b": [1.5, math.inf], "c": {"d": "mm³"}}, indented=False)
    assert text == '{"a": null, "b": [1.5, null], "c": {"d": "mm\\u00b3"}}\n'
    assert json.loads(json_text({"a": 1}, indented=True)) == {"a": 1}


@pytest.mark.parametrize("command", [["sheet", "-o"], ["figures", "--layers-csv"]])
def test_a_program_is_not_written_over_by_what_is_said_of_it(
    capsys: Captured, tmp_path: Path, command: list[str]
) -> None:
    program = tmp_path / "a.gcode"
    data = (SAMPLES / "tap_washers_bare.gcode").read_bytes()
    program.write_bytes(data)
    name, option = command
    assert main([name, str(program), option, str(program)]) == 2
    assert "is the program itself, which would be lost" in capsys.readouterr().err
    assert program.read_bytes() == data


def test_a_card_that_is_not_valid_is_listed_so(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path))
    (tmp_path / "printers").mkdir()
    (tmp_path / "printers" / "broken.toml").write_text('name = "Broken"\n')
    assert main(["cards"]) == 0
    printed = capsys.readouterr().out
    assert printed.count("not valid: ") == 1
    assert "broken.toml, line 1: `max_speed_mm_s` is missing" in printed
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path / "gone"))
    assert main(["cards"]) == 2
    assert capsys.readouterr().out == ""


def test_several_findings_are_explained(capsys: Captured) -> None:
    assert main(["explain", "off-plate", "topples"]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith("off-plate: ")
    assert "\ntopples: " in printed
    assert main(["explain", "hello"]) == 2
    assert 'a line of a program, as "G1 X20", is explained too.' in capsys.readouterr().err


def test_the_caution_is_said_once_in_full(capsys: Captured, tmp_path: Path) -> None:
    file = tmp_path / "hot.gcode"
    text = (SAMPLES / "faulty" / "wrong-heat.gcode").read_text()
    file.write_text(re.sub(r"M104 S0.*", "", text))
    main(["vet", str(file)])
    printed = " ".join(capsys.readouterr().out.split())
    assert "heaters-left-on" in printed and "wrong-heat" in printed
    assert printed.count("printers left alone have started fires") == 1
    assert "The caution above about heat, fumes and fire holds here too." in printed


def test_another_filament_diameter_is_one_word(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(SAMPLES / "tap_washer_tray.gcode")
    mass: dict[str, float] = {}
    for word in ("1.75", "2.85 mm"):
        assert main(["figures", "--json", "--filament-diameter", word, path]) == 0
        mass[word] = json.loads(capsys.readouterr().out)["filament"]["mass_g"]
    assert mass["2.85 mm"] / mass["1.75"] == pytest.approx((2.85 / 1.75) ** 2, rel=1e-6)
    for wrong in ("thick", "0", "nan", "285"):
        assert main(["vet", "--filament-diameter", wrong, path]) == 2
        assert "no diameter of filament; give it in mm" in capsys.readouterr().err


def test_a_negative_line_gets_its_own_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    program = "sample_programs/tap_washers_bare.gcode"
    assert main(["explain", "-5", "--program", program]) == 2
    assert "There is no line -5; " in capsys.readouterr().err
