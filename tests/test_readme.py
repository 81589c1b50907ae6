"""README.md says what the program says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.readme import PARTS, README, part_of
from viewer.checks.finding import Severity
from viewer.checks.run import CHECKS


@pytest.mark.parametrize("name", PARTS)
def test_what_the_program_writes_is_as_it_writes_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    assert part_of(README.read_text("utf-8"), name) == PARTS[name]()


def test_severities_mean_the_same_everywhere() -> None:
    text = README.read_text("utf-8")
    assert all(f"*{severity.value}*: {severity.means}" in text for severity in Severity)


def test_every_check_explains_itself() -> None:
    for check in CHECKS:
        for text in (check.title, check.looks_at, check.why, check.what_to_do, check.cannot_see):
            assert len(text) > 3, check.slug
            assert "safe" not in text.lower().replace("unsafe", ""), check.slug


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_every_file_that_is_linked_is_there(document: str) -> None:
    text = (README.parent / document).read_text("utf-8")
    linked = re.findall(r"\]\(([^)#:]+)\)|(?:src|srcset)=\"([^\":]+)\"", text)
    assert linked
    for path in (Path(one or other) for one, other in linked):
        assert (README.parent / path).is_file(), path
