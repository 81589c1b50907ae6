"""The plot hears of every move of the pointer here; usually of a hundred in a second at most."""

import pyqtgraph as pg
import pytest


@pytest.fixture(autouse=True)
def every_move_is_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(pg.CONFIG_OPTIONS, "mouseRateLimit", 0)
