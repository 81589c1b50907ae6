"""The frame: severities, rules, the workshop card's word, documentation."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime

import pytest

from tests.checks.on_paper import CHECKS, merged
from viewer.cards import WorkshopCard, load_workshop
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Rule, Severity
from viewer.checks.policy import policy_of
from viewer.errors import CardError
from viewer.program import Program
from viewer.shown.finding_text import CAUTIONS, with_caution


def nothing(_program: Program, _rule: Rule) -> Iterator[Outcome]:
    yield from ()


def made(slug: str, **changes: object) -> Check:
    words = dict.fromkeys(("theme", "title", "looks_at", "why", "what_to_do", "cannot_see"), "words")
    plain: dict[str, object] = {"severity": Severity.LOOK, "limit": 3.0, "unit": "mm", "run": nothing}
    return Check(slug=slug, **words, **{**plain, **changes})  # type: ignore[arg-type]


def card(**checks: dict[str, object]) -> WorkshopCard:
    named = {slug.replace("_", "-"): rule for slug, rule in checks.items()}
    result = merged(load_workshop("quayside"), {"checks": named})
    assert isinstance(result, WorkshopCard)
    return result


def test_the_gravest_comes_first() -> None:
    assert sorted(Severity, key=lambda s: s.rank) == [Severity.STOP, Severity.LOOK, Severity.NOTE]


def test_a_check_needs_one_way_to_run() -> None:
    with pytest.raises(ValueError, match="odd-one"):
        made("odd-one", run=None)
    with pytest.raises(ValueError, match="odd-one"):
        made("odd-one", judge=lambda _program, _shape, _rule: iter(()))


def test_without_a_word_in_the_card_the_checks_own_rule_holds() -> None:
    start = datetime(2024, 5, 6, 14, 30)
    rule = policy_of((made("a-check"),), card(), start).rules["a-check"]
    assert (rule.severity, rule.limit, rule.start) == (Severity.LOOK, 3.0, start)
    assert rule.weigh(Severity.STOP) is Severity.STOP
    assert rule.limit_or(7.0) == 7.0


def test_the_card_moves_limit_and_severity() -> None:
    word = card(a_check={"limit": 5.0, "severity": "note"})
    rule = policy_of((made("a-check"),), word).rules["a-check"]
    assert (rule.severity, rule.limit) == (Severity.NOTE, 5.0)
    assert rule.weigh(Severity.STOP) is Severity.NOTE
    assert rule.limit_or(7.0) == 5.0


def test_a_check_that_is_off_says_why() -> None:
    word = card(a_check={"off": True, "reason": "the plate is larger than its card"})
    policy = policy_of((made("a-check"), made("other")), word)
    assert list(policy.rules) == ["other"]
    (off,) = policy.switched_off
    assert off.slug == "a-check"
    assert "the plate is larger than its card" in off.sentence
    assert "Quayside Repair Workshop" in off.sentence


def test_off_without_a_reason_says_so() -> None:
    (off,) = policy_of((made("a-check"),), card(a_check={"off": True})).switched_off
    assert "no reason is given" in off.sentence


def test_an_unknown_slug_names_the_nearest() -> None:
    with pytest.raises(CardError, match=r"`of-plate`.*nearest known one is `off-plate`"):
        policy_of((made("off-plate"), made("cut-short")), card(of_plate={"off": True}))
    with pytest.raises(CardError, match="`xyzzy`, which does not exist; correct the slug"):
        policy_of((made("off-plate"),), card(xyzzy={"off": True}))


def test_a_limit_where_there_is_none_is_refused() -> None:
    with pytest.raises(CardError, match=r"checks\.a-check\.limit.*no limit"):
        policy_of((made("a-check", limit=None, unit=""),), card(a_check={"limit": 5.0}))


@pytest.mark.parametrize("slug", sorted(CHECKS))
def test_every_check_is_documented(slug: str) -> None:
    check = CHECKS[slug]
    for words in (check.looks_at, check.why, check.what_to_do, check.cannot_see):
        assert len(words) > 10
        assert words.endswith(".")
        assert not re.search(r"\bsafe\b", words, re.IGNORECASE)
    assert check.title
    assert check.theme in ("the file", "the machine", "the filament", "time")
    assert check.limit_source
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", slug)


@pytest.mark.parametrize("slug", ["too-hot-for-machine", "heaters-left-on", "wrong-heat"])
def test_heat_is_spoken_of_with_caution(slug: str) -> None:
    assert CHECKS[slug].hazard is Hazard.HEAT
    words = with_caution(CHECKS[slug].what_to_do, Hazard.HEAT)
    for word in ("burn", "fumes", "fires", "manual", "local rules"):
        assert word in words


def test_every_hazard_has_a_caution_and_no_check_writes_one() -> None:
    assert set(CAUTIONS) == set(Hazard)
    for check in CHECKS.values():
        assert not any(caution in check.what_to_do for caution in CAUTIONS.values())
    assert {check.slug for check in CHECKS.values() if check.hazard is Hazard.MOVING_PARTS} == {
        "off-plate",
        "not-homed",
        "drives-into-print",
        "head-hits-print",
        "below-plate",
        "beyond-reach",
        "homed-in-print",
    }


def test_findings_and_what_was_not_checked_are_told_apart() -> None:
    finding = Finding(slug="a-check", severity=Severity.NOTE, sentence="Found.")
    assert (finding.lines, finding.layer, finding.place_mm, finding.move) == ((), None, None, None)
    assert not isinstance(NotChecked("a-check", "Not looked at."), Finding)
