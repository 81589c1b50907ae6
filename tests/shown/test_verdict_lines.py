"""The verdict on the console: first of all, in colour where a person watches."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.checks.on_paper import opened, whole
from viewer.__main__ import main
from viewer.checks.finding import Severity
from viewer.checks.run import run_checks
from viewer.shown.console.colour import painted
from viewer.shown.console.streams import Painted
from viewer.shown.console.tables import paragraph, width
from viewer.shown.console.verdict_lines import verdict_pieces
from viewer.verdict import Question, Word, verdict_of


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "a-terminal")


@pytest.mark.parametrize("command", ["vet", "figures"])
def test_it_stands_before_everything_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)
    main([command, str(opened(tmp_path, whole()).path)])
    out = capsys.readouterr().out
    flat = " ".join(out.split())
    places = [flat.index(question.asked) for question in Question]
    assert places == sorted(places)
    assert places[-1] < flat.index("Passed:" if command == "vet" else "Program")
    assert "\x1b" not in out


def test_lines_are_no_wider_than_asked(tmp_path: Path) -> None:
    program = opened(tmp_path, whole())
    for columns in (50, 72, 100):
        pieces = verdict_pieces(verdict_of(program, run_checks(program)), columns)
        assert all(len(line) <= columns for piece in pieces for line in piece.splitlines())


@pytest.mark.usefixtures("watched")
def test_colour_where_a_person_watches() -> None:
    text = painted("  stop  off-plate\n", Severity.STOP)
    assert isinstance(text, Painted) and text == "  \x1b[1;31mstop\x1b[0m  off-plate\n"
    assert painted("  yes  It holds.", Word.YES) == "  \x1b[32myes\x1b[0m  It holds."


@pytest.mark.usefixtures("watched")
def test_what_a_file_writes_stays_written_out() -> None:
    assert "\x1b[2J" not in painted("  look  a \x1b[2J name\n", Severity.LOOK)


@pytest.mark.usefixtures("watched")
@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_no_colour_where_it_is_not_wanted(monkeypatch: pytest.MonkeyPatch, name: str, value: str) -> None:
    monkeypatch.setenv(name, value)
    assert painted("  stop  off-plate\n", Severity.STOP) == "  stop  off-plate\n"


@pytest.mark.parametrize(("columns", "used"), [("140", 140), ("72", 72), ("20", 50)])
def test_the_whole_width_of_a_terminal_is_used(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    columns: str,
    used: int,
) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", columns)
    assert width() == used
    main(["explain", "topples"])
    _title, *lines = capsys.readouterr().out.splitlines()
    prose = [line for line in lines if "=" not in line]  # no lines of a card
    assert 0.8 * used < max(map(len, prose)) <= used


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    text = "Beads are laid for 2 min 5 s with the plate at 105 °C, 9.5 mm³/s and 3 min less; PLA wants 20 to 70 °C."
    for columns in range(50, 90):
        lines = paragraph(text, columns, "  ").splitlines()
        assert " ".join(line.strip() for line in lines) == text
        assert not [line for line in lines if line.strip().startswith(("min", "s ", "°C", "mm³/s", "%"))]
