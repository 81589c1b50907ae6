"""The table of checks in README.md, made from the checks' own documentation.

``python -m tests.checks.manual`` writes it again between its two marks; a test holds it equal.
"""

from __future__ import annotations

from pathlib import Path

from viewer.checks.finding import Check
from viewer.checks.run import CHECKS
from viewer.numerals import number_text
from viewer.shown.finding_text import readable

README = Path(__file__).parents[2] / "README.md"
BEGIN, END = "<!-- checks: written by tests/checks/manual.py -->\n", "<!-- end of checks -->\n"


def table() -> str:
    """One row a check."""
    rows = ["| theme | finding | at worst | limit | looks at |", "| --- | --- | --- | --- | --- |"]
    theme = ""
    for check in CHECKS:
        shown = check.theme if check.theme != theme else ""
        theme = check.theme
        cells = (shown, f"`{check.slug}`", check.severity.value, limit(check), readable(check.looks_at))
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows) + "\n"


def limit(check: Check) -> str:
    """Return what a check compares with unless the workshop card says otherwise; "" where nothing can be moved."""
    if not check.unit:
        return ""
    return "by the card" if check.limit is None else f"{number_text(check.limit)} {readable(check.unit)}"


def main() -> None:
    text = README.read_text("utf-8")
    before, rest = text.split(BEGIN)
    after = rest.split(END)[1]
    README.write_text(before + BEGIN + table() + END + after, "utf-8")


if __name__ == "__main__":
    main()
