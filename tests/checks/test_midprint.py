"""What is switched off, and what stands still, in the middle of a print."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import findings, line_with, opened, whole
from viewer.checks.finding import Hazard, Severity


def at_height(text: str, z: float, commands: str) -> str:
    """Put commands before the layer at a height."""
    mark = f"G1 X50.0000 Y50.0000 Z{z:.4f}"
    assert text.count(mark) == 1
    return text.replace(mark, f"{commands}\n{mark}")


def slow(layers: int = 20) -> str:
    """A box that takes a minute."""
    return whole(layers, size=40.0)


@pytest.mark.parametrize("command", ["M84", "M18 X Y", "M84 Z", "M112"])
def test_motors_off_and_halts_are_stops(tmp_path: Path, command: str) -> None:
    text = at_height(slow(), 2.0, command)
    (found,) = findings(opened(tmp_path, text), "off-in-print")
    assert found.severity is Severity.STOP
    assert found.lines[0] == line_with(text, command)
    assert found.layer == 10


@pytest.mark.parametrize("command", ["M84 E", "M84 S120", "M18 E S5", "M104 S205", "M140 S50", "M107"])
def test_what_goes_on_is_silent(tmp_path: Path, command: str) -> None:
    assert findings(opened(tmp_path, at_height(slow(), 2.0, command)), "off-in-print") == []


def test_a_nozzle_off_is_a_stop_and_told_once(tmp_path: Path) -> None:
    program = opened(tmp_path, at_height(slow(), 2.0, "M104 S0"))
    (found,) = findings(program, "off-in-print")
    assert found.severity is Severity.STOP
    assert found.hazard is Hazard.HEAT
    assert findings(program, "wrong-heat") == []


def test_a_nozzle_off_for_the_last_layer_is_to_be_looked_at(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, at_height(slow(), 4.0, "M104 S0")), "off-in-print")
    assert found.severity is Severity.LOOK


def test_a_plate_off_halfway_is_to_be_looked_at_but_not_for_the_last_layers(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, at_height(slow(), 2.0, "M140 S0")), "off-in-print")
    assert found.severity is Severity.LOOK
    assert findings(opened(tmp_path, at_height(slow(), 4.0, "M140 S0")), "off-in-print") == []


def test_what_is_switched_off_at_the_end_or_the_beginning_is_silent(tmp_path: Path) -> None:
    text = slow().replace("G28\n", "G28\nM84\nM104 S0\nG28\nM104 S210\n")
    assert findings(opened(tmp_path, text), "off-in-print") == []
