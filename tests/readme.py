"""The parts of README.md that the program writes itself: the table of checks and an example of the console.

``python -m tests.readme`` writes them again between their marks; tests/test_readme.py holds them equal.
"""

from __future__ import annotations

import contextlib
import io
import os
from pathlib import Path

from viewer.__main__ import main as beadline
from viewer.checks.finding import Check
from viewer.checks.run import CHECKS
from viewer.numerals import number_text
from viewer.shown.finding_text import readable

README = Path(__file__).parents[1] / "README.md"
EXAMPLE = ("vet", "sample_programs/faulty/mid-air-start.gcode")


def checks_table() -> str:
    """Return the table of checks, one row a check."""
    rows = ["| theme | finding | at worst | limit | looks at |", "| --- | --- | --- | --- | --- |"]
    theme = ""
    for check in CHECKS:
        shown = check.theme if check.theme != theme else ""
        theme = check.theme
        cells = (shown, f"`{check.slug}`", check.severity.value, limit(check), readable(check.looks_at))
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows) + "\n"


def limit(check: Check) -> str:
    """Return what a check compares with unless the workshop card says otherwise; "" where there is no limit."""
    if not check.unit:
        return ""
    return "by the card" if check.limit is None else f"{number_text(check.limit)} {readable(check.unit)}"


def console_example() -> str:
    """Return what a command prints about a sample program."""
    printed, before = io.StringIO(), Path.cwd()
    os.chdir(README.parent)
    try:
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(io.StringIO()):
            beadline(EXAMPLE)
    finally:
        os.chdir(before)
    return f"```\n$ beadline {' '.join(EXAMPLE)}\n{printed.getvalue().rstrip()}\n```\n"


PARTS = {"checks": checks_table, "console example": console_example}
"""By the name in the marks."""


def marks(name: str) -> tuple[str, str]:
    """Return the lines before and after a part."""
    return f"<!-- {name}: written by tests/readme.py -->\n", f"<!-- end of {name} -->\n"


def part_of(text: str, name: str) -> str:
    """Return what stands between a part's marks."""
    begin, end = marks(name)
    return text.split(begin)[1].split(end)[0]


def main() -> None:
    text = README.read_text("utf-8")
    for name, write in PARTS.items():
        begin, end = marks(name)
        before, rest = text.split(begin)
        text = before + begin + write() + end + rest.split(end)[1]
    README.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
