"""How long work tells how far it is, and how it is asked to end: plain callables, so that no stage knows a face."""

from __future__ import annotations

from collections.abc import Callable

OnProgress = Callable[[str, float], None]
"""Called with the name of the stage (or check) at work and the share that is done (0 .. 1)."""
Stop = Callable[[], bool]
"""Asked often; true: end with `viewer.errors.Stopped`."""
