"""Numbers as people read them: none says more than is true."""

from __future__ import annotations

import math
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.numerals import more_or_less, told_apart
from viewer.shown.numbers import (
    bytes_text,
    clock_text,
    count_text,
    difference_text,
    distance_text,
    duration_text,
    money_text,
    number_text,
    place_text,
    share_text,
    size_text,
)

THIN = "\u202f"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"), (-0.0, "0"), (None, "unknown"), (math.nan, "unknown"), (math.inf, "infinite"),
        (1.0, "1"), (0.30000001, "0.3"), (12.345, "12.3"), (99.94, "99.9"), (99.96, "100"), (1737.12, "1737"),
        (0.00001, "below 0.001"), (-0.00001, "above -0.001"), (0.0199, "0.0199"), (-2.5, "-2.5"),
        (123456.7, f"123{THIN}457"), (9.999, "10"),
    ],
)  # fmt: skip
def test_number(value: float | None, text: str) -> None:
    assert number_text(value) == text


@pytest.mark.parametrize(
    ("value", "other", "texts"),
    [
        (4.996, 5.0, ("4.996", "5")), (40.4, 40.0, ("40.4", "40")), (62.0, 40.0, ("62", "40")), (5.0, 5.0, ("5", "5")),
        (0.3204, 0.32, ("0.3204", "0.32")), (150.4, 150.0, ("150.4", "150")), (5.0 + 1e-9, 5.0, ("5", "5")),
    ],
)  # fmt: skip
def test_what_is_held_against_each_other_is_told_apart(
    value: float, other: float, texts: tuple[str, str]
) -> None:
    assert told_apart(value, other) == texts


@given(st.floats(0.0, 0.99999))
def test_less_is_never_all_of_it(ratio: float) -> None:
    assert (more_or_less(ratio) == "100 % less") == (ratio == 0.0)


@given(st.integers(-99_999, 99_999), st.integers(3, 6))
def test_more_digits_say_the_same(thousandths: int, digits: int) -> None:
    value = thousandths / 1000
    assert float(number_text(value, digits)) == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


@given(st.floats(min_value=1e-3, max_value=1e12))
def test_number_is_right_to_three_digits(value: float) -> None:
    assert float(number_text(value).replace(THIN, "")) == pytest.approx(value, rel=0.00501)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_zero_is_said_of_zero_alone(value: float) -> None:
    assert (number_text(value) == "0") == (value == 0.0)
    assert not number_text(value).startswith("-0") or "." in number_text(value)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 s"), (0.0213, "0.0213 s"), (35.24, "35.2 s"), (59.94, "59.9 s"), (59.96, "1 min 0 s"),
        (60, "1 min 0 s"), (119.6, "2 min 0 s"), (3599.6, "1 h 0 min 0 s"), (4085, "1 h 8 min 5 s"),
        (86399.6, "1 d 0 h 0 min"), (93784, "1 d 2 h 3 min"), (-5, "-5 s"), (None, "unknown"),
    ],
)  # fmt: skip
def test_duration(seconds: float | None, text: str) -> None:
    assert duration_text(seconds) == text


@given(st.integers(60, 86_399))
def test_duration_can_be_read_back(seconds: int) -> None:
    parts = duration_text(seconds).split()
    factor = {"h": 3600, "min": 60, "s": 1}
    assert sum(int(n) * factor[unit] for n, unit in zip(parts[::2], parts[1::2], strict=True)) == seconds


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"), (1.0, "100 %"), (0.99996, "over 99.9 %"), (0.9990001, "over 99.9 %"), (0.99716, "99.7 %"),
        (1e-9, "below 0.1 %"), (0.001, "0.1 %"), (0.5, "50 %"), (1.25, "125 %"), (None, "unknown"),
    ],
)  # fmt: skip
def test_share(share: float | None, text: str) -> None:
    assert share_text(share) == text


@given(st.floats(0.0, 1.0))
def test_nothing_and_all_are_said_only_when_exact(share: float) -> None:
    assert (share_text(share) == "0 %") == (share == 0.0)
    assert (share_text(share) == "100 %") == (share == 1.0)


def test_clock_over_midnight_and_further() -> None:
    start = datetime(2026, 3, 2, 22, 0)
    assert clock_text(start, 1800) == "22:30"
    assert clock_text(start, 4 * 3600) == "02:00 the next day"
    assert clock_text(start, 50 * 3600) == "00:00 3 days later"


@pytest.mark.parametrize(
    ("ratio", "text"),
    [
        (1.0, "the same"), (1.0003, "the same within 0.05 %"), (0.769, "23.1 % less than ours"),
        (0.0003, "over 99.9 % less than ours"),
        (1.021, "2.1 % more than ours"), (1.9999, "2 times ours"), (7.29, "7.29 times ours"),
    ],
)  # fmt: skip
def test_difference(ratio: float, text: str) -> None:
    assert difference_text(ratio) == text


def test_other_forms() -> None:
    assert (size_text(0.2800000011), size_text(10.119999), size_text(-0.0), size_text(300.0)) == (
        "0.28", "10.12", "0", "300",
    )  # fmt: skip
    assert (place_text(-0.01), place_text(141.225)) == ("0.0", "141.2")
    assert (distance_text(999.4), distance_text(1737.1), distance_text(0.0)) == ("999 mm", "1.74 m", "0 mm")
    assert (money_text(0.0, "EUR"), money_text(0.001, "EUR"), money_text(0.4261, "EUR")) == (
        "0.00 EUR", "below 0.01 EUR", "0.43 EUR",
    )  # fmt: skip
    assert (bytes_text(999), bytes_text(1000), bytes_text(999_600)) == ("999 bytes", "1 kB", "1 MB")
    assert (count_text(9999), count_text(10_000)) == ("9999", f"10{THIN}000")
    assert count_text(-1_234_567) == f"-1{THIN}234{THIN}567"
