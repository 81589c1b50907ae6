"""The panes of the window, gathered so that one import brings them all, with the engine behind them."""

from __future__ import annotations

from viewer.shown.window.findings.findings_pane import FindingsPane
from viewer.shown.window.ledger.ledger_pane import LedgerPane
from viewer.shown.window.plot.layer_plot import LayerPlot
from viewer.shown.window.stats.stats_pane import StatsPane
from viewer.shown.window.strip.layer_strip import LayerStrip
from viewer.shown.window.strip.moment_slider import MomentSlider
from viewer.shown.window.text.text_pane import ProgramText

__all__ = [
    "FindingsPane",
    "LayerPlot",
    "LayerStrip",
    "LedgerPane",
    "MomentSlider",
    "ProgramText",
    "StatsPane",
]
