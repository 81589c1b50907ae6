"""What several panes say where they have nothing to show."""

from __future__ import annotations

from typing import Final

NOT_WHOLE: Final = "The program is not read to its end yet."
