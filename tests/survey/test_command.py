"""`beadline survey` on the console: table, JSON, CSV and page, with an engine that works in this process."""

from __future__ import annotations

import csv
import io
import json
import re
from base64 import b64decode
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.survey.bench import Here, folder_of_programs
from viewer.__main__ import main
from viewer.shown.console import survey_command as command
from viewer.shown.survey.data import COLUMNS


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return folder_of_programs(tmp_path_factory.mktemp("programs"))


class Cells(HTMLParser):
    """The cells of a page's table by row, the words of each, and all sources and links."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.sources: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.sources += [value or "" for name, value in attrs if name in ("src", "href")]
        if tag not in ("meta", "img"):
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag == "td":
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "td" in self.open:
            self.rows[-1][-1] += data


def test_one_run_writes_page_table_and_words(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BEADLINE_CACHE", str(tmp_path))
    monkeypatch.setattr(command, "_ThisMachine", lambda _jobs: Here())
    asked = ["survey", str(folder), "--start", "08:00"]
    files = ["--html", str(tmp_path / "page.html"), "--csv", str(tmp_path / "rows.csv")]
    assert main([*asked, *files]) == 2  # one could not be read

    out, err = capsys.readouterr()
    assert err == ""
    heads = re.findall(r"(?m)^(no|look|yes|not read) +(\S+/.*)$", out)
    assert [word for word, _ in heads] == ["not read", "no", "look", "look", "look"]
    assert "zip container" in out and "Beads lie up to 4.00 mm beyond the right edge" in out
    assert "done at 08:06" in out and re.search(r"(?m)^best on Wren +4$", out)
    assert "Moving axes pinch" in out
    words = " ".join(out.split())
    assert words.startswith(
        "5 programs on Heron with PLA, Quayside Repair Workshop; done at: if begun on "
    ) and out.splitlines()[0].endswith("at 08:00.")
    assert " broken.gcode is a zip container" in words  # its folder stands in the row's head already
    twin = next(path for _, path in heads if path.endswith("twin.gcode"))
    same = re.findall(r"The same bytes as (.*?)\.gcode\.", words)
    assert same == [str(folder / "checksum")] and out.index(twin) < out.index("The same bytes")

    monkeypatch.setattr(command, "_ThisMachine", None)  # all is remembered: nobody is asked
    monkeypatch.setattr(command, "_engine", lambda _asked: None)
    assert main([*asked, "--json"]) == 2
    plain = json.loads(capsys.readouterr().out)
    table = list(csv.DictReader(io.StringIO((tmp_path / "rows.csv").read_bytes().decode())))
    assert [row["path"] for row in table] == [row["path"] for row in plain["rows"]]
    assert len(set(COLUMNS)) == len(COLUMNS)
    for row, told in zip(table, plain["rows"], strict=True):
        if told["verdict"] is not None:
            words = [answer["word"] for answer in told["verdict"]["answers"]]
            assert [row[name] for name in row if name.endswith("_answer")] == words
            assert float(row["cost"]) == told["verdict"]["cost"] and row["cost_answer"] == words[-1]
    _page_says_the_same((tmp_path / "page.html").read_text(), plain)


def _page_says_the_same(page: str, plain: dict) -> None:  # type: ignore[type-arg]
    cells = Cells()
    cells.feed(page)
    assert cells.open == []
    assert all(
        source.startswith("data:image/png;base64,") for source in cells.sources
    )  # nothing outside of it
    pictures = [b64decode(source.split(",")[1]) for source in cells.sources]
    assert len(pictures) == 4 and all(one.startswith(b"\x89PNG") for one in pictures)
    rows = [row for row in cells.rows if len(row) > 1]
    twins = [row[1] for row in rows if "The same bytes as" in row[1]]
    assert len(twins) == 1 and "twin.gcode" in twins[0] and "checksum.gcode." in twins[0]
    marks = {"no": "■", "look": "▲", "not known": "?", "yes": "·"}
    for row, said in zip(rows, plain["rows"], strict=True):
        assert Path(said["path"]).name in row[1]
        if said["verdict"] is None:
            assert said["problem"]["sentence"].removeprefix(f"{Path(said['path']).parent}/") in row[1]
        else:
            assert row[2:9] == [marks[one["word"]] for one in said["verdict"]["answers"]]
            assert row[-1] == (said["best_printer"] or "none")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--jobs", "0"], "'0' is no number of programs to work on at a time"),
        (["--jobs", "2", "--on", "tcp://there:8786"], "--jobs is for this machine and --on for others"),
        (["--json", "--csv", "-"], "both write to standard output"),
        (["-"], "`beadline vet -` reads standard input"),
    ],
)
def test_what_cannot_be_asked_is_a_sentence(
    folder: Path, capsys: pytest.CaptureFixture[str], asked: list[str], said: str
) -> None:
    assert main(["survey", str(folder), *asked]) == 2
    out, err = capsys.readouterr()
    assert out == "" and said in err and err.count("\n") == 1
