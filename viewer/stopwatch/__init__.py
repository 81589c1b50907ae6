"""The stopwatch test: a short program of motion alone, timed by hand, tells how fast a machine really is.

::

    card -> room -> blocks -> program text        a person runs it and times the blocks
                      |
                    replan <- seconds of the blocks
                      |
                    solve -> proposal             values for the card, each with its interval

`make_test` and `evaluate` are the two ways in.
"""

from __future__ import annotations

from viewer.stopwatch.block import Block
from viewer.stopwatch.blocks import MotionTest, make_test
from viewer.stopwatch.program_text import program_lines
from viewer.stopwatch.proposal import Measured, Proposal, evaluate

__all__ = ["Block", "Measured", "MotionTest", "Proposal", "evaluate", "make_test", "program_lines"]
