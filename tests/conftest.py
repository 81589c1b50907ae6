"""What all tests share: an empty card folder, windows without a display, and no skip that nobody expects."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

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
    """Tests see the bundled cards only."""
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path_factory.mktemp("cards")))
    yield


@pytest.fixture(scope="session")
def samples() -> list[Path]:
    """The good sample programs."""
    found = sorted(SAMPLES.glob("*.gcode"))
    assert len(found) >= 8
    return found


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
