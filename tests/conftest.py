"""What all tests share: windows off screen, an empty card folder, a choice of order, and no skip that nobody expects."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from viewer.failures import RAISE
from viewer.jit import compiler_is_off
from viewer.shown.first_run import kernels_are_cached
from viewer.warm import warm_up

ON_SCREEN = os.environ.get("BEADLINE_TEST_SCREEN") == "1"
"""Tests open windows on the screen only if this is asked for; processes that they start inherit the answer."""
if not ON_SCREEN:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"

os.environ[RAISE] = "1"
"""A check that fails of itself fails its test, also in processes that tests start; the few tests of such failures take
this away (fixture `failures_are_told`)."""

settings.register_profile(
    "beadline",
    deadline=None,
    derandomize=True,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
settings.load_profile("beadline")

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_programs"
EXPECTED_SKIPS = ("compiler is off", "needs the compiler", "root may")
"""Reasons for which a test may be skipped; any other skip fails the run."""


@pytest.fixture(autouse=True)
def no_own_cards(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Tests see the bundled cards only, remember no surveys, and have a print log of their own."""
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path_factory.mktemp("cards")))
    monkeypatch.setenv("BEADLINE_CACHE", str(tmp_path_factory.mktemp("cache")))
    monkeypatch.setenv("BEADLINE_PRINT_LOG", str(tmp_path_factory.mktemp("log") / "prints.sqlite3"))
    yield


@pytest.fixture
def failures_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A part that fails is told in a sentence, as people have it, and does not raise."""
    monkeypatch.delenv(RAISE)


@pytest.fixture(scope="session")
def samples() -> list[Path]:
    """The good sample programs."""
    found = sorted(SAMPLES.glob("*.gcode"))
    assert len(found) >= 8
    return found


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add `--order`."""
    parser.addoption(
        "--order",
        metavar="ORDER",
        default="written",
        help="order of the tests: `written` (usual), `reverse`, or a number, which is the seed of a random order",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Compile all kernels before tests run in several processes, each of which would compile them for itself."""
    in_processes = config.getoption("numprocesses", None) and not hasattr(config, "workerinput")
    if in_processes and not compiler_is_off():
        warm_up()
        if not kernels_are_cached():
            raise pytest.UsageError("warm_up compiled not all kernels, or its cache could not be written.")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """Return for `-n auto` a process a core, six at most: each holds the compiler's code and Qt, some 400 MB."""
    return min(os.cpu_count() or 1, 6)


def pytest_report_header(config: pytest.Config) -> str:
    """Say where windows are opened, and in which order tests run."""
    return f"windows: {'on the screen' if ON_SCREEN else 'off screen'}, order: {config.getoption('order')}"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the tests in the order that is asked for.

    A random order is one of the test files, and one of the tests in each file: what a file's tests share (one fixture
    for all of them, which can take seconds) is then made once, as usual.
    """
    order = config.getoption("order")
    if order == "reverse":
        items.reverse()
    elif order != "written":
        if not order.isdecimal():
            raise pytest.UsageError(f"--order is `written`, `reverse` or a number, not {order!r}")
        chance = random.Random(int(order))
        files = sorted({item.path for item in items})
        chance.shuffle(files)
        place = {path: number for number, path in enumerate(files)}
        chance.shuffle(items)
        items.sort(key=lambda item: place[item.path])


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Turn an unexpected skip into a failure."""
    outcome = yield
    report = outcome.get_result()  # type: ignore[attr-defined]
    if report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if not any(expected in reason for expected in EXPECTED_SKIPS):
            report.outcome = "failed"
            report.longrepr = f"{item.nodeid}: unexpected skip: {reason}"
