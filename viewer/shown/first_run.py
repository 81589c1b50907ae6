"""What people are told of the first run, which compiles the kernels; console, window and README say the same."""

from __future__ import annotations

from typing import Final

TAKES: Final = "some twenty seconds"
"""On two cores; `python -m tests.benchmarks` measures it."""
FIRST_RUN: Final = (
    f"The first run compiles the computing kernels, which takes {TAKES}; later starts are quick."
)
