"""The panes of the window, gathered so that one import brings them all, with the engine behind them."""

from __future__ import annotations

from viewer.shown.window.findings_pane import FindingsPane
from viewer.shown.window.layer_plot import LayerPlot
from viewer.shown.window.layer_strip import LayerStrip
from viewer.shown.window.ledger_pane import LedgerPane
from viewer.shown.window.moment_slider import MomentSlider
from viewer.shown.window.program_text import ProgramText
from viewer.shown.window.stats import StatsPane

__all__ = [
    "FindingsPane",
    "LayerPlot",
    "LayerStrip",
    "LedgerPane",
    "MomentSlider",
    "ProgramText",
    "StatsPane",
]
