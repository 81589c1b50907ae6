"""Every figure that a person sees, as rows that the console, the window and the job sheet share.

Values come from the program's figures and columns; nothing is computed a second time here.
"""

from __future__ import annotations

from viewer.shown.layer_rows import bead_rows, layer_rows
from viewer.shown.numbers import clock_text, duration_text
from viewer.shown.program_rows import program_rows
from viewer.shown.row import Row

__all__ = ["Row", "bead_rows", "clock_text", "duration_text", "layer_rows", "program_rows"]
