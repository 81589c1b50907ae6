"""How far it is, on standard error where a person watches; and a word before the first run's long wait."""

from __future__ import annotations

import os
import sys
import time
from typing import Final

from viewer.shown.console.streams import in_one_line, say
from viewer.shown.first_run import FIRST_RUN, kernels_are_cached

SILENT_S: Final = 0.3
"""What is done sooner shows no progress."""
EVERY_S: Final = 0.1

NOT_KEPT: Final = (
    "What was compiled could not be kept, so that every run compiles again; "
    "let NUMBA_CACHE_DIR name a folder that can be written to."
)


class ProgressLine:
    """One line on standard error, written over; silent where nobody watches."""

    def __init__(self, name: str) -> None:
        name = in_one_line(name)
        self._name = name if len(name) <= 50 else f"...{name[-47:]}"
        self._begun = self._told = time.monotonic()
        self._shown = False
        self._on = sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM", "") != "dumb"

    def __call__(self, stage: str, share: float) -> None:
        """Show the stage and the share of it that is done."""
        now = time.monotonic()
        if not self._on or now - self._begun < SILENT_S or now - self._told < EVERY_S:
            return
        self._told, self._shown = now, True
        done = f" {int(100 * share)} %" if 0.0 < share < 1.0 else ""
        self._write(f"\r\x1b[K{self._name}: {stage}{done}")

    def clear(self) -> None:
        """Take the line away."""
        if self._shown:
            self._shown = False
            self._write("\r\x1b[K")

    def _write(self, text: str) -> None:
        try:
            sys.stderr.write(text)
            sys.stderr.flush()
        except OSError:
            self._on = False  # the terminal is gone


def prepare_first_run() -> None:
    """Where kernels are not compiled yet, say so in one line and compile them all, on two cores."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0") and not kernels_are_cached():
        say(FIRST_RUN)
        from viewer.warm import warm_up

        warm_up()
        if not kernels_are_cached():
            say(NOT_KEPT)
