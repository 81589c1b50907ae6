"""The log's computing against the world: certified data sets, a reference library, simulated benches of known truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.stats import binomtest

from tests.printlog.bench import Bench
from viewer.printlog.accuracy import CANDIDATES, Proposal, accuracy, proposals
from viewer.printlog.against import points_of
from viewer.printlog.estimate import corrected_estimate, least_squares
from viewer.printlog.history import ACCELERATING, HEATING, LEVELLING, history_of
from viewer.printlog.rows import Outcome
from viewer.printlog.student_t import t_cdf, t_quantile, wilson_interval
from viewer.shown.log_text import accuracy_text, proposal_text

# NIST Statistical Reference Datasets, linear regression: Norris (y, x), with the certified values
NORRIS = np.array([
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
])  # fmt: skip
NORRIS_CERTIFIED = (-0.262323073774029, 1.00211681802045)

# the same source, Longley (y, x1 to x6): nearly collinear columns
LONGLEY = np.array([
    (60323, 83.0, 234289, 2356, 1590, 107608, 1947), (61122, 88.5, 259426, 2325, 1456, 108632, 1948),
    (60171, 88.2, 258054, 3682, 1616, 109773, 1949), (61187, 89.5, 284599, 3351, 1650, 110929, 1950),
    (63221, 96.2, 328975, 2099, 3099, 112075, 1951), (63639, 98.1, 346999, 1932, 3594, 113270, 1952),
    (64989, 99.0, 365385, 1870, 3547, 115094, 1953), (63761, 100.0, 363112, 3578, 3350, 116219, 1954),
    (66019, 101.2, 397469, 2904, 3048, 117388, 1955), (67857, 104.6, 419180, 2822, 2857, 118734, 1956),
    (68169, 108.4, 442769, 2936, 2798, 120445, 1957), (66513, 110.8, 444546, 4681, 2637, 121950, 1958),
    (68655, 112.6, 482704, 3813, 2552, 123366, 1959), (69564, 114.2, 502601, 3931, 2514, 125368, 1960),
    (69331, 115.7, 518173, 4806, 2572, 127852, 1961), (70551, 116.9, 554894, 4007, 2827, 130081, 1962),
])  # fmt: skip
LONGLEY_CERTIFIED = (
    -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359,
    -0.0511041056535807, 1829.15146461355,
)  # fmt: skip


@pytest.mark.parametrize(
    ("data", "certified", "digits"), [(NORRIS, NORRIS_CERTIFIED, 1e-11), (LONGLEY, LONGLEY_CERTIFIED, 1e-7)]
)
def test_least_squares_on_certified_data(
    data: np.ndarray, certified: tuple[float, ...], digits: float
) -> None:
    columns = np.column_stack([np.ones(len(data)), data[:, 1:]])
    assert least_squares(columns, data[:, 0]) == pytest.approx(certified, rel=digits)


@pytest.mark.parametrize("freedom", [1.0, 2.0, 2.5, 5.0, 12.0, 40.0, 400.0])
def test_student_t_against_scipy(freedom: float) -> None:
    for p in (0.001, 0.05, 0.3, 0.5, 0.9, 0.95, 0.975, 0.9995):
        value = t_quantile(p, freedom)
        assert value == pytest.approx(stats.t.ppf(p, freedom), rel=1e-9, abs=1e-12)
        assert t_cdf(value, freedom) == pytest.approx(p, abs=1e-12)


def test_student_t_against_the_printed_table() -> None:
    """Abramowitz and Stegun, table 26.10: two-sided 90 % and 95 %."""
    for freedom, t90, t95 in ((1, 6.314, 12.706), (5, 2.015, 2.571), (10, 1.812, 2.228), (30, 1.697, 2.042)):
        assert t_quantile(0.95, freedom) == pytest.approx(t90, abs=6e-4)
        assert t_quantile(0.975, freedom) == pytest.approx(t95, abs=6e-4)


@pytest.mark.parametrize(("hits", "total"), [(0, 1), (4, 4), (7, 12), (1, 300), (300, 300)])
def test_wilson_interval_against_scipy(hits: int, total: int) -> None:
    expected = binomtest(hits, total).proportion_ci(confidence_level=0.9, method="wilson")
    assert wilson_interval(hits, total) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_intervals_hold_what_they_promise_and_the_error_is_halved() -> None:
    """1,000 simulated benches: slower heating, 30 % of acceleration missing, noise, one end that was forgotten."""
    held, before, after, runs = 0, 0.0, 0.0, 1_000
    for seed in range(runs):
        bench = Bench(np.random.default_rng(seed), heating=1.4, accelerating=1 / 0.7, noise=0.03)
        past = [bench.print_() for _ in range(10)]
        past[3] = bench.forgotten(past[3])
        new = bench.print_()
        estimate = corrected_estimate(new.parts_s, history_of(past), "Heron")
        assert estimate is not None
        held += estimate.low_s <= new.real_s <= estimate.high_s
        before += abs(new.computed_s / new.real_s - 1.0)
        after += abs(estimate.seconds / new.real_s - 1.0)
    assert 0.85 <= held / runs <= 0.95, f"the 90 % interval held {held} of {runs}"
    assert after <= 0.5 * before, f"error {before / runs:.3f} before, {after / runs:.3f} after"


def test_a_correction_that_does_not_help_is_left_out() -> None:
    """200 simulated benches with a right card: the times are those computed, and the interval still holds."""
    held, better, runs, left = 0, 0, 200, 0
    for seed in range(runs):
        bench = Bench(np.random.default_rng(seed), noise=0.03)
        past = history_of([bench.print_() for _ in range(10)])
        new = bench.print_()
        (found,) = accuracy(past)
        estimate = corrected_estimate(new.parts_s, past, "Heron")
        assert estimate is not None
        held += estimate.low_s <= new.real_s <= estimate.high_s
        if found.left_out == 0 and not found.helps:
            left += 1
            assert found.corrected_error >= found.computed_error
            assert estimate.seconds == pytest.approx(new.computed_s, rel=1e-9)
            assert "The correction does not help: times stand as computed" in accuracy_text(found)
        else:
            better += "does not help" not in accuracy_text(found)
    assert left >= 0.5 * runs and better >= 0.1 * runs, f"{left} as computed, {better} corrected, of {runs}"
    assert 0.85 <= held / runs <= 0.95, f"the 90 % interval held {held} of {runs}"


@pytest.mark.parametrize(
    ("cause", "wrong", "factor"),
    [
        ("heating", {"heating": 1.5}, 1.5),
        ("speeding up and braking", {"accelerating": 1 / 0.7}, 1 / 0.7),
        ("homing and levelling", {"levelling": 3.0}, 3.0),
    ],
)
def test_the_right_card_value_is_pointed_to(cause: str, wrong: dict[str, float], factor: float) -> None:
    right, found, runs = 0, [], 200
    for seed in range(runs):
        bench = Bench(np.random.default_rng(seed), noise=0.015, **wrong)
        proposed = proposals(history_of([bench.print_() for _ in range(15)])).get("Heron")
        if proposed is not None and proposed.cause == cause:
            right += 1
            found.append(proposed.factor)
            assert proposed.error_after < proposed.error_before
    assert right >= 0.8 * runs, f"{right} of {runs}"
    assert np.median(found) == pytest.approx(factor, rel=0.1)


@pytest.mark.parametrize(
    ("cause", "way"), [(HEATING, "divided by"), (ACCELERATING, "divided by"), (LEVELLING, "times")]
)
def test_the_advice_names_the_way_that_the_cards_unit_needs(cause: str, way: str) -> None:
    """The card has warming rates in degC/s and accelerations in mm/s2, but homing and levelling in seconds."""
    said = proposal_text("Heron", Proposal(cause, CANDIDATES[cause], 1.52, 0.2, 0.1))
    assert f"{CANDIDATES[cause]} on the card, {way} 1.52; with it" in said


def test_a_right_card_gets_no_proposal() -> None:
    proposed = 0
    for seed in range(200):
        bench = Bench(np.random.default_rng(seed), noise=0.03)
        proposed += bool(proposals(history_of([bench.print_() for _ in range(15)])))
    assert proposed <= 20


def test_accuracy_is_the_leave_one_out_error() -> None:
    """Against fits made one by one."""
    bench = Bench(np.random.default_rng(5), heating=1.5, noise=0.02)
    past = [bench.print_() for _ in range(12)]
    (found,) = accuracy(history_of(past))
    errors = []
    for number, one in enumerate(past):
        estimate = corrected_estimate(one.parts_s, history_of(past[:number] + past[number + 1 :]), "Heron")
        assert estimate is not None and estimate.left_out == 0
        errors.append(abs(estimate.seconds / one.real_s - 1.0))
    assert found.left_out == 0
    assert found.corrected_error == pytest.approx(np.mean(errors), rel=1e-9)
    assert found.computed_error == pytest.approx(
        np.mean([abs(one.computed_s / one.real_s - 1.0) for one in past])
    )


def test_each_print_against_the_others() -> None:
    """Against estimates made one by one; a forgotten end is shown, and nothing rests on it."""
    bench = Bench(np.random.default_rng(7), heating=1.5, noise=0.02)
    past = [bench.print_() for _ in range(14)]
    past[4] = replace(past[4], ended=past[4].started + 5.0 * (past[4].ended - past[4].started))
    past.append(replace(bench.print_(), outcome=Outcome.STOPPED))
    points = points_of(range(1, 16), history_of(past))["Heron"]
    assert [one.number for one in points] == list(range(1, 15))
    assert [one.number for one in points if not one.believed] == [5] and not points[4].held
    for point in points:
        one = past[point.number - 1]
        others = [other for other in past[:14] if other is not one]
        estimate = corrected_estimate(one.parts_s, history_of(others), "Heron")
        assert estimate is not None and estimate.left_out == (0 if point.number == 5 else 1)
        told = np.array([point.expected, point.low, point.high]) * point.computed_s
        assert told == pytest.approx([estimate.seconds, estimate.low_s, estimate.high_s], rel=1e-9)
        assert point.real * point.computed_s == pytest.approx(one.real_s)
    assert points_of([1, 2, 3], history_of(past[:3])) == {}
