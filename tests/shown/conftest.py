"""Sample programs, opened once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from viewer import Program, open_program

SAMPLES = Path(__file__).parents[2] / "sample_programs"


@cache
def opened(name: str) -> Program:
    return open_program(SAMPLES / name)


@pytest.fixture(params=["coat_hook_pause.gcode", "tap_washers_bare.gcode", "radiator_dial_two_tools.gcode"])
def program(request: pytest.FixtureRequest) -> Program:
    return opened(request.param)


@pytest.fixture
def hook() -> Program:
    return opened("coat_hook_pause.gcode")
