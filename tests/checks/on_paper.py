"""Small programs of the Quayside Repair Workshop for the checks, opened under cards that a test changes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

from tests.programs import box
from viewer import open_program
from viewer.cards import load_filament, load_printer, load_workshop
from viewer.checks.endings.shutdown import SHUT_DOWN_CHECK
from viewer.checks.filament import FILAMENT_CHECKS
from viewer.checks.file import FILE_CHECKS
from viewer.checks.finding import Finding, NotChecked, Outcome, Passed
from viewer.checks.machine import MACHINE_CHECKS
from viewer.checks.made_for import MADE_FOR_CHECKS
from viewer.checks.midprint import MIDPRINT_CHECKS
from viewer.checks.order.account import ACCOUNT_CHECKS
from viewer.checks.path import PATH_CHECKS
from viewer.checks.policy import policy_of
from viewer.checks.time import TIME_CHECKS
from viewer.program import Program

_THEMES = (
    *FILE_CHECKS, SHUT_DOWN_CHECK, *MACHINE_CHECKS, *PATH_CHECKS, *MADE_FOR_CHECKS, *MIDPRINT_CHECKS,
    *FILAMENT_CHECKS, *TIME_CHECKS,
    *ACCOUNT_CHECKS,
)  # fmt: skip
CHECKS = {c.slug: c for c in _THEMES}
START = "M140 S60\nM104 S210\nG90\nM82\nG28\nM190 S60\nM109 S210\nG92 E0\nG1 F3000\n"
END = "G1 Z20\nM104 S0\nM140 S0\nM107\nM84\n"
Changes = Mapping[str, Mapping[str, Any]]


def whole(layers: int = 5, start: str = START, end: str = END, size: float = 20.0, x: float = 50.0) -> str:
    """A box of one wall with a beginning and an end."""
    return start + box(layers, size, x=x)[0] + end


def merged(card: Any, changes: Mapping[str, Any]) -> Any:
    """A card with some of its keys changed, tables key by key."""
    if not changes:
        return card
    plain = msgspec.to_builtins(card)
    for key, value in changes.items():
        both = isinstance(value, Mapping) and isinstance(plain.get(key), dict)
        plain[key] = {**plain[key], **value} if both else value
    return msgspec.convert(plain, type(card))


def opened(folder: Path, text: str | bytes, changes: Changes | None = None) -> Program:
    """Write a program down and open it."""
    path = folder / "part.gcode"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return opened_file(path, changes)


def opened_file(path: Path, changes: Changes | None = None) -> Program:
    """Open a file under the bundled cards, changed."""
    some = changes or {}
    cards = {kind: merged(card, some.get(kind, {})) for kind, card in _bundled().items()}
    return open_program(path, **cards)


@cache
def _bundled() -> dict[str, Any]:
    """The cards of most tests: read once, as they never change."""
    return {
        "printer": load_printer("heron"),
        "filament": load_filament("pla"),
        "workshop": load_workshop("quayside"),
    }


def outcomes(program: Program, slug: str, start: datetime | None = None) -> list[Outcome]:
    """All that one check says, under the program's workshop card."""
    check = CHECKS[slug]
    policy = policy_of((check,), program.workshop, start)
    if slug not in policy.rules:
        return list(policy.switched_off)
    assert check.run is not None
    return list(check.run(program, policy.rules[slug]))


def objections(program: Program, slug: str, start: datetime | None = None) -> list[Outcome]:
    """What one check finds or leaves unchecked."""
    return [one for one in outcomes(program, slug, start) if not isinstance(one, Passed)]


def findings(program: Program, slug: str, start: datetime | None = None) -> list[Finding]:
    return [outcome for outcome in outcomes(program, slug, start) if isinstance(outcome, Finding)]


def not_checked(program: Program, slug: str, start: datetime | None = None) -> list[str]:
    return [o.sentence for o in outcomes(program, slug, start) if isinstance(o, NotChecked)]


def passed(program: Program, slug: str, start: datetime | None = None) -> list[str]:
    return [o.sentence for o in outcomes(program, slug, start) if isinstance(o, Passed)]


def line_with(text: str, words: str) -> int:
    """Number of the first line that contains the words."""
    return next(k for k, line in enumerate(text.split("\n"), 1) if words in line)
