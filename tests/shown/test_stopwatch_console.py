"""`beadline stopwatch`: writing the test, evaluating its times, keeping a card, and mistakes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from viewer.__main__ import main
from viewer.cards import load_printer
from viewer.jit import compiler_is_off
from viewer.stopwatch import make_test
from viewer.stopwatch.caution import CAUTION
from viewer.stopwatch.values import value_of

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="compiler is off: whole programs take too long")
Captured = pytest.CaptureFixture[str]
AS_PLANNED = ["39.9", "39.9", "40.0", "40.7", "40.7", "40.3", "39.9", "39.8"]
"""Of the bundled Heron."""
SLOWER = ["40.1", "44.7", "40.0", "40.7", "43.0", "40.3", "42.0", "42.2"]
"""Of a Heron with an acceleration of 1,200 mm/s2 along Y and a corner speed of 7 mm/s."""


def test_the_times_of_these_tests_are_those_of_the_card() -> None:
    assert [f"{seconds:.1f}" for seconds in make_test(load_printer("heron")).expected_s] == AS_PLANNED


def test_written_timed_and_kept(tmp_path: Path, capsys: Captured) -> None:
    program = str(tmp_path / "test.gcode")
    assert main(["stopwatch", "--printer", "heron", "-o", program]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.index("CAUTION") == 0 and said.index(CAUTION[0]) < said.index("test.gcode")
    assert f"--program {program} --seconds {' '.join(AS_PLANNED)}" in said

    asked = ["stopwatch", "--program", program, "--seconds"]
    assert main([*asked, *AS_PLANNED]) == 0
    said = capsys.readouterr().out
    assert "mm/s² (" in said and "mm/s2" not in said and "holds with 90 % confidence" in said
    assert said.count("which agrees") >= 4 and "Nothing was changed" in said and "For test" not in said

    assert main([*asked, *SLOWER, "--keep", "Bench Heron", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    kept = load_printer("bench heron")
    value = next(one for one in found["values"] if one["name"] == "acceleration y")
    assert value["low"] < value["value"] < value["high"] < 1500.0 and not value["agrees"]
    assert value_of(kept, "acceleration y") == pytest.approx(value["value"], rel=0.02)
    assert {"key": "corner.jerk_mm_s.x", "now": 8.0, "proposed": kept.corner.jerk_mm_s.x} in found["changes"]
    assert "# Heron: an invented printer" in Path(found["kept"]).read_text()

    bench = ["stopwatch", "--printer", "bench heron", "--program", program, "--seconds", *SLOWER]
    assert main(bench) == 2  # the program was made for the card as it was
    assert "is not the test that the card of Bench Heron gives now" in capsys.readouterr().err


def test_the_program_goes_to_standard_output_alone(capsys: Captured) -> None:
    assert main(["stopwatch", "-o", "-", "--heat", "nozzle"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("; Stopwatch test ") and "M109 S120" in out
    assert err.startswith("CAUTION: ") and "heats the nozzle to 120" in err


def test_json_of_a_test(tmp_path: Path, capsys: Captured) -> None:
    assert main(["stopwatch", "-o", str(tmp_path / "test.gcode"), "--json"]) == 0
    out, err = capsys.readouterr()
    found = json.loads(out)
    assert [f"{one['expected_s']:.1f}" for one in found["blocks"]] == AS_PLANNED and found["caution"]
    assert err.startswith("CAUTION: ")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ([], "Say where the test program is to be written"),
        (["--keep", "Bench"], "--keep keeps measured values"),
        (["-o", "x", "--seconds", "1"], "leave out either -o or --seconds"),
        (["--seconds", "40", "41"], "has 8 blocks, and 2 times were given"),
        (["--seconds", "40"], "has 8 blocks, and 1 time was given"),
        (["--seconds", "forty"], "'forty' behind --seconds is no number"),
        (["--seconds"], "--seconds needs"),
        (["--seconds", *AS_PLANNED, "--hand-error", "0"], "An error of 0 s"),
        (["--seconds", *AS_PLANNED, "--program", "no_such.gcode"], "no_such.gcode cannot be read"),
        (["--printer", "hern", "-o", "x"], "Heron"),
        (
            ["--seconds", "39.9", "42.9", *AS_PLANNED[2:], "--keep", "Bench"],
            "time that block again; no card was kept",
        ),
    ],
)
def test_a_mistake_gets_one_sentence(asked: list[str], said: str, capsys: Captured) -> None:
    assert main(["stopwatch", *asked]) == 2
    out, err = capsys.readouterr()
    assert not out and said in err and err.count("\n") == 1
