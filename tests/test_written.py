"""Files are written whole or not at all."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from viewer.errors import OutputError
from viewer.written import spare, unfinished, write_whole


def test_text_and_bytes(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", ["mm³\n", b"\xff"])
    assert (tmp_path / "a").read_bytes() == "mm³\n".encode() + b"\xff"
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def test_rights_and_links_stay(tmp_path: Path) -> None:
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_text("old")
    target.chmod(0o640)
    link.symlink_to(target)
    write_whole(link, ["new"])
    assert link.is_symlink() and target.read_text() == "new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_what_breaks_off_leaves_what_was_there(tmp_path: Path) -> None:
    def pieces() -> Iterator[str]:
        yield "half"
        assert len(unfinished) == 1
        raise KeyboardInterrupt

    (tmp_path / "a").write_text("old")
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "a", pieces())
    assert (tmp_path / "a").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["a"]
    assert not unfinished


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("", "is a folder; name a file in it to write to."),
        ("no/a.csv", "could not be written: its folder does not exist; make it first."),
        ("zero\0byte", "could not be written (embedded null byte)"),
    ],
)
def test_sentences(tmp_path: Path, name: str, sentence: str) -> None:
    with pytest.raises(OutputError) as caught:
        write_whole(tmp_path / name, ["x"])
    assert sentence in str(caught.value)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_device() -> None:
    with pytest.raises(OutputError, match="No space left on device"):
        write_whole("/dev/full", ["x" * 100_000])
    assert Path("/dev/full").is_char_device()


def test_the_program_that_is_looked_at_is_never_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "a.gcode"
    program.write_text("G28\n")
    (tmp_path / "link").symlink_to(program)
    (tmp_path / "twin").hardlink_to(program)
    monkeypatch.chdir(tmp_path)
    for name in ("a.gcode", "./a.gcode", str(program), "link", "twin"):
        with pytest.raises(
            OutputError, match=r"is the program itself, which would be lost; choose another name\.$"
        ):
            spare(name, program)
    for name in ("b.gcode", "no/folder", "zero\0byte"):
        spare(name, program)  # another file, or none that could be lost
    spare("a.gcode", "-")
