"""What the panes show of a whole program and what takes long: computed in the worker, kept as long as the program."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from viewer.checks.finding import Finding, NotChecked
from viewer.read.moves import F64
from viewer.shown.rows import Row, program_rows

if TYPE_CHECKING:
    from collections.abc import Callable

    from viewer.checks.run import Report
    from viewer.program import Program

_ROWS: WeakKeyDictionary[Program, tuple[Row, ...]] = WeakKeyDictionary()


def rows_of(program: Program) -> tuple[Row, ...]:
    """Give the figures of a program as rows; they are made at the first call."""
    found = _ROWS.get(program)
    if found is None:
        found = _ROWS.setdefault(program, program_rows(program))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Checked:
    """A report with what the checks measured of every layer."""

    report: Report
    overhang_mm2: F64  # (layers,) area that overhangs

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was found, the gravest first."""
        return self.report.findings

    @property
    def not_checked(self) -> tuple[NotChecked, ...]:
        """What was not checked."""
        return self.report.not_checked


def check(program: Program, tell: Callable[[float], None], stop: Callable[[], bool]) -> Report:
    """Run the checks."""
    from viewer.checks.run import run_checks

    return run_checks(program, lambda _, share: tell(share), stop)
