"""Kernels from the cache: a start that compiles nothing does not get the compiler ready."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.conftest import SAMPLES
from viewer import open_program
from viewer.jit import compiler_is_off

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="is about the compiler")

SAMPLE = str(SAMPLES / "drawer_glide_inches.gcode")
ASK = f"""
import sys
from viewer import open_program
program = open_program({SAMPLE!r})
print(program.timing.total_s, program.totals.drawn_mm)
print([name for name in ("scipy.linalg", "numba.np.arraymath", "numba.typed.typedlist") if name in sys.modules])
"""


def test_a_start_with_all_kernels_cached_imports_no_compiler_library() -> None:
    program = open_program(SAMPLE)  # in the cache from here on
    done = subprocess.run([sys.executable, "-c", ASK], capture_output=True, text=True, check=True)
    figures, imported = done.stdout.splitlines()
    assert figures == f"{program.timing.total_s} {program.totals.drawn_mm}"
    assert imported == "[]"


COMPILE_AFTER = """
import numpy as np
from viewer import open_program
open_program({sample!r})
import numba
@numba.njit
def new(x):
    return np.dot(x, x) + x.sum()
print(new(np.arange(4.0)))
"""


def test_what_is_not_cached_is_still_compiled() -> None:
    code = COMPILE_AFTER.format(sample=SAMPLE)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert float(done.stdout) == 14.0 + 6.0
