"""README.md's table of checks says what the checks say of themselves."""

from __future__ import annotations

from tests.checks.manual import BEGIN, END, README, table
from viewer.checks.finding import Severity
from viewer.checks.run import CHECKS


def test_the_table_is_the_checks_own_words() -> None:
    text = README.read_text("utf-8")
    assert text.split(BEGIN)[1].split(END)[0] == table()


def test_severities_mean_the_same_everywhere() -> None:
    text = README.read_text("utf-8")
    assert all(f"*{severity.value}*: {severity.means}" in text for severity in Severity)


def test_every_check_explains_itself() -> None:
    for check in CHECKS:
        for text in (check.title, check.looks_at, check.why, check.what_to_do, check.cannot_see):
            assert len(text) > 3, check.slug
            assert "safe" not in text.lower().replace("unsafe", ""), check.slug
