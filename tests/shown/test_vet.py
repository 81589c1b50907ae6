"""`vet`, `explain SLUG`, and findings in words."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from tests.shown.conftest import SAMPLES
from viewer.__main__ import main
from viewer.checks.finding import Finding, NotChecked, Severity
from viewer.checks.run import CHECKS, Report
from viewer.shown.console.layers_csv import LAYER_COLUMNS
from viewer.shown.data import finding_object
from viewer.shown.finding_text import evidence_text, readable, verdict_text

GOOD = str(SAMPLES / "coat_hook_pause.gcode")
CUT = str(SAMPLES / "faulty" / "cut-short.gcode")
FAST = str(SAMPLES / "faulty" / "beyond-flow.gcode")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _no_first_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)


@pytest.mark.parametrize(("files", "status"), [([GOOD], 0), ([FAST], 0), ([CUT], 1), ([GOOD, CUT], 1)])
def test_status(capsys: Captured, files: list[str], status: int) -> None:
    assert main(["vet", *files]) == status
    out, err = capsys.readouterr()
    assert err == "" and all(file in out for file in files)


def test_what_could_not_be_read_outweighs(capsys: Captured, tmp_path: Path) -> None:
    assert main(["vet", CUT, str(tmp_path / "gone.gcode")]) == 2
    out, err = capsys.readouterr()
    assert "stop  cut-short" in out and err.count("\n") == 1


def test_for_people(capsys: Captured) -> None:
    main(["vet", CUT])
    out = capsys.readouterr().out
    assert re.match(re.escape(CUT) + r": do not print this \(\d+ stop", out)
    assert "Line 562, layer 8" in out.replace("\n        ", " ")
    assert "Not checked:" in out and "spool-short:" in out
    assert not re.search(r"\bsafe\b", out)
    assert all(len(line) <= 100 for line in out.splitlines() if "/" not in line)


def test_json_of_one_and_of_several(capsys: Captured) -> None:
    main(["vet", CUT, "--json"])
    one = json.loads(capsys.readouterr().out)
    assert one["counts"]["stop"] >= 1 and one["findings"][0]["slug"] == "cut-short"
    assert set(one["findings"][0]) == {
        "slug", "severity", "sentence", "lines", "layer", "place_mm", "value", "limit", "unit", "remedy", "hazard",
        "places", "unlisted", "extents",
    }  # fmt: skip
    assert {skipped["slug"] for skipped in one["not_checked"]} >= {"spool-short"}
    main(["vet", GOOD, CUT, "--json"])
    lines = capsys.readouterr().out.splitlines()
    assert [json.loads(line)["path"] for line in lines] == [GOOD, CUT]


def test_numbers_of_arrays_become_plain_ones() -> None:
    place = (np.float64(1.5), np.float32(2.0), 0.25)
    finding = Finding(
        slug="speed-cut",
        severity=Severity.NOTE,
        sentence="Too fast.",
        lines=(int(np.int64(3)),),
        layer=np.int64(4),
        place_mm=place,
        value=np.float64(0.5),
    )
    plain = finding_object(finding)
    assert json.loads(json.dumps(plain)) == {
        "slug": "speed-cut", "severity": "note", "sentence": "Too fast.", "lines": [3], "layer": 4,
        "place_mm": [1.5, 2.0, 0.25], "value": 0.5, "limit": None, "unit": "", "remedy": "", "hazard": None,
        "places": [], "unlisted": 0, "extents": [],
    }  # fmt: skip


@pytest.mark.parametrize("path", sorted((SAMPLES / "faulty").glob("*.gcode")), ids=lambda path: path.stem)
def test_every_faulty_sample_has_a_form_in_json(capsys: Captured, path: Path) -> None:
    main(["vet", "--json", str(path)])
    assert json.loads(capsys.readouterr().out)["path"] == str(path)


def test_a_folder_means_its_programs(capsys: Captured, tmp_path: Path) -> None:
    (tmp_path / "in" / "deeper").mkdir(parents=True)
    for name in ("in/b.GCODE", "in/deeper/a.gcode", "in/.hidden.gcode", "in/note.txt"):
        (tmp_path / name).write_bytes(Path(FAST).read_bytes())
    assert main(["vet", str(tmp_path / "in"), "--json"]) == 0
    found = [json.loads(line)["path"] for line in capsys.readouterr().out.splitlines()]
    assert found == [str(tmp_path / "in" / "b.GCODE"), str(tmp_path / "in" / "deeper" / "a.gcode")]


def test_a_folder_without_programs(capsys: Captured, tmp_path: Path) -> None:
    assert main(["vet", str(tmp_path)]) == 2
    assert "holds no program" in capsys.readouterr().err


def test_the_start_decides_what_is_after_closing(capsys: Captured) -> None:
    found = {}
    for start in ("10:00", "17:55"):
        main(["vet", GOOD, "--json", "--start", start])
        found[start] = {finding["slug"] for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert "after-closing" in found["17:55"] - found["10:00"]


@pytest.mark.parametrize("text", ["25:00", "2pm", "14.30", ""])
def test_no_time_of_day(capsys: Captured, text: str) -> None:
    assert main(["vet", GOOD, "--start", text]) == 2
    assert "as 14:30" in capsys.readouterr().err


def test_every_check_is_listed_and_explained(capsys: Captured) -> None:
    assert main(["explain"]) == 0
    listed = [line.split()[0] for line in capsys.readouterr().out.splitlines() if line.startswith("  ")]
    assert listed == [check.slug for check in CHECKS]
    for check in CHECKS:
        assert main(["explain", check.slug]) == 0
        out = capsys.readouterr().out
        flat = " ".join(out.split())
        for text in (check.looks_at, check.why, check.what_to_do, check.cannot_see):
            assert " ".join(readable(text).split()) in flat
        assert all(len(line) <= 100 for line in out.splitlines())


def test_an_unknown_slug(capsys: Captured) -> None:
    assert main(["explain", "off-plat"]) == 2
    assert "the nearest is off-plate" in capsys.readouterr().err


def test_figures_as_json_hold_all_that_is_promised(capsys: Captured) -> None:
    assert main(["figures", GOOD, "--json"]) == 0
    out, err = capsys.readouterr()
    found = json.loads(out)
    assert err == "" and found["schema"] == 1
    promised = (
        "schema program printer filament_card moves path extent_mm filament layers time first_layer standing claims "
        "notes commands unknown_commands findings"
    )
    assert set(promised.split()) <= set(found)
    assert set(found["program"]) == {"path", "bytes", "lines", "sha256"}
    assert sum(found["time"]["ledger_s"].values()) == pytest.approx(found["time"]["total_s"])
    assert sum(role["mm"] for role in found["filament"]["by_role"].values()) == pytest.approx(
        found["filament"]["drawn_mm"], rel=1e-6
    )
    assert main(["figures", GOOD, CUT, "--json"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert lines[0] == found
    assert lines[1]["findings"][0]["slug"] == "cut-short"


STOP = Finding(
    slug="off-plate",
    severity=Severity.STOP,
    sentence="S.",
    lines=(9, 8, 7, 6),
    layer=3,
    place_mm=(1.0, -0.01, 0.2000001),
    value=1.0,
    limit=0.0,
    unit="mm",
    remedy="R.",
)


def test_the_readme_names_every_key_and_column(capsys: Captured) -> None:
    manual = (
        (SAMPLES.parent / "README.md").read_text("utf-8").split("## Figures as data")[1].split("\n## ")[0]
    )
    assert main(["figures", GOOD, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert main(["vet", CUT, "--json"]) == 1
    vetted = json.loads(capsys.readouterr().out)
    for name in (*found, *vetted, *vetted["findings"][0], *vetted["not_checked"][0], *LAYER_COLUMNS):
        assert f"`{name}`" in manual, name


def test_words() -> None:
    report = Report((STOP,), (NotChecked("a", "b"),))
    assert verdict_text(report) == "do not print this (1 stop)"
    noted = Finding(slug="a", severity=Severity.NOTE, sentence="S.")
    assert verdict_text(Report((noted, noted), ())) == "good to know (2 notes)"
    assert verdict_text(Report((), ())) == "nothing found by the checks that were made"
    assert evidence_text(STOP) == "Lines 9, 8, 7 ..., layer 3, X 1.0 Y 0.0 Z 0.2 mm"
    assert evidence_text(Finding(slug="a", severity=Severity.NOTE, sentence="S.")) == ""


def test_what_is_not_checked_for_one_reason_is_said_once(capsys: Captured) -> None:
    main(["vet", str(SAMPLES / "lamp_shade_ring_spiral.gcode")])
    text = capsys.readouterr().out.split("Not checked:")[1]
    paragraphs = [" ".join(block.split()) for block in re.split(r"\n(?= {8}[a-z-]+[:,])", text)]
    reasons = [paragraph.split(": ", 1)[1] for paragraph in paragraphs if paragraph]
    assert len(reasons) >= 2 and len(set(reasons)) == len(reasons)


def test_people_read_units_in_their_own_signs_and_programs_in_ascii(capsys: Captured) -> None:
    hot = str(SAMPLES / "faulty" / "too-hot-for-machine.gcode")
    main(["vet", hot])
    out = capsys.readouterr().out
    assert "°C" in out and "degC" not in out
    main(["vet", hot, "--json"])
    found = json.loads(capsys.readouterr().out)["findings"]
    assert "degC" in {finding["unit"] for finding in found}


def test_a_line_is_named_once() -> None:
    assert (
        evidence_text(Finding(slug="a", severity=Severity.NOTE, sentence="S.", lines=(825, 825)))
        == "Line 825"
    )


@pytest.mark.parametrize("said", ["off-plate", "OFF-PLATE", "off plate", "Off_Plate"])
def test_a_slug_is_known_however_it_is_written(capsys: Captured, said: str) -> None:
    assert main(["explain", *said.split()]) == 0
    assert capsys.readouterr().out.startswith("off-plate: ")


def test_the_limit_of_every_check_reads_as_words(capsys: Captured) -> None:
    for check in CHECKS:
        main(["explain", check.slug])
        out = " ".join(capsys.readouterr().out.split())
        assert "(in of" not in out and "a card (the" not in out
        if check.unit:
            assert f"limit (unit: {readable(check.unit)}), severity" in out
            assert check.limit_source in out
