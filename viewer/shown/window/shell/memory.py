"""What the window remembers between runs: where everything stood, what was opened, what was chosen."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final, NamedTuple, get_args
from zlib import crc32

from PySide6.QtCore import QByteArray, QSettings, QSize
from PySide6.QtWidgets import QMainWindow

from viewer.cards.kinds import DEFAULTS
from viewer.shown.window.actions.table import ARRANGEMENTS, DOCKS, Arrangement
from viewer.shown.window.model.view_state import (
    COLOURINGS,
    STRIP_QUANTITIES,
    Shown,
    ViewState,
)
from viewer.shown.window.style.theme import LOOKS, Look

RECENT: Final = 10
LAYOUT: Final = crc32(" ".join(DOCKS).encode()) >> 1
"""Names the set of docks, in 31 bits: an arrangement that was kept of another set is not restored."""


class DocksKept(NamedTuple):
    """Where a person put the docks of an arrangement."""

    places: QByteArray
    """Of `QMainWindow.saveState`."""
    window: QSize
    """How large the window was."""


class Memory:
    """Settings by name, each read with a check: the file may have been written by hand or by another version."""

    def __init__(self, settings: QSettings | None = None) -> None:
        self._own_file = Path(settings.fileName()) if settings is not None else None
        self._kept = settings or QSettings(
            QSettings.Format.IniFormat, QSettings.Scope.UserScope, "beadline", "window"
        )

    def text(self, key: str, default: str) -> str:
        """Return a text."""
        value = self._kept.value(key)
        return value if isinstance(value, str) and value else default

    def put(self, key: str, value: str) -> None:
        """Keep a text."""
        self._kept.setValue(key, value)

    @property
    def recent(self) -> list[Path]:
        """Programs opened lately, the newest first."""
        return [Path(path) for path in self._texts("recent", "path", RECENT)]

    @property
    def glances_folder(self) -> Path:
        """Where the start page's pictures are kept: in the user's cache, or beside a settings file of its own."""
        if self._own_file is not None:
            return self._own_file.parent / "recent"
        import platformdirs

        return platformdirs.user_cache_path("beadline", appauthor=False) / "recent"

    def opened(self, path: Path) -> None:
        """Put a program at the head of those opened lately."""
        self.set_recent([path, *(other for other in self.recent if other != path)][:RECENT])

    def set_recent(self, paths: list[Path]) -> None:
        """Keep the programs opened lately."""
        self._put_texts("recent", "path", [str(path) for path in paths])

    @property
    def watched(self) -> list[str]:
        """Folders that the inbox watches."""
        return self._texts("inbox", "folder")

    def set_watched(self, folders: list[str]) -> None:
        """Keep the folders that the inbox watches."""
        self._put_texts("inbox", "folder", folders)

    @property
    def folder(self) -> str:
        """Where the last program lay, "" if there was none."""
        recent = self.recent
        return str(recent[0].parent) if recent else ""

    @property
    def look(self) -> Look:
        """Light, dark or after the system."""
        value = self.text("look", "system")
        return value if value in LOOKS else "system"

    @property
    def text_scale(self) -> float:
        """Size of text beside the system's."""
        try:
            return min(max(float(self.text("text_scale", "1")), 0.8), 2.0)
        except ValueError:
            return 1.0

    def card(self, kind: str) -> str:
        """Name or path of the card of a kind that was chosen last."""
        return self.text(f"cards/{kind}", dict(DEFAULTS)[kind])  # type: ignore[index]

    def restore_choices(self, state: ViewState) -> None:
        """Show in picture and strip what they showed at the end of the last run."""
        colouring, strip = self.text("colouring", ""), self.text("strip", "")
        if colouring in COLOURINGS:
            state.colour_by(colouring)
        if strip in STRIP_QUANTITIES:
            state.show_quantity(strip)
        hidden = self.text("hidden", "").split()
        for part in get_args(Shown):
            state.show_part(part, part not in hidden)

    def keep_choices(self, state: ViewState) -> None:
        """Keep what the picture and the strip show."""
        self.put("colouring", state.colouring)
        self.put("strip", state.strip)
        self.put("hidden", " ".join(sorted(set(get_args(Shown)) - state.shown)))

    def restore_geometry(self, window: QMainWindow) -> bool:
        """Put the window where it was; False where that is not known."""
        value = self._kept.value("geometry")
        return isinstance(value, QByteArray) and window.restoreGeometry(value)

    @property
    def arrangement(self) -> Arrangement:
        """The arrangement that the window had last."""
        kept = self.text("arrangement", "check")
        return next((name for name in ARRANGEMENTS if name == kept), "check")

    def docks(self, arrangement: Arrangement) -> DocksKept | None:
        """Return where a person put the docks of an arrangement; None: where they were at first."""
        places, size = (
            self._kept.value(f"docks/{arrangement}"),
            self._kept.value(f"docks/{arrangement}-window"),
        )
        if isinstance(places, QByteArray) and isinstance(size, QSize):
            return DocksKept(places, size)
        return None

    def keep_docks(self, arrangement: Arrangement, docks: DocksKept | None) -> None:
        """Keep where a person put the docks of an arrangement; None: they are where they were at first."""
        for key, value in (
            (arrangement, docks and docks.places),
            (f"{arrangement}-window", docks and docks.window),
        ):
            if value is None:
                self._kept.remove(f"docks/{key}")
            else:
                self._kept.setValue(f"docks/{key}", value)

    def keep_geometry(self, window: QMainWindow) -> None:
        """Keep where the window is."""
        self._kept.setValue("geometry", window.saveGeometry())

    def write(self) -> None:
        """Write to disk now."""
        self._kept.sync()

    def _texts(self, array: str, key: str, most: int | None = None) -> list[str]:
        """Return the texts of an array that are not empty, of its first `most` entries."""
        count = self._kept.beginReadArray(array)
        found = []
        for k in range(count if most is None else min(count, most)):
            self._kept.setArrayIndex(k)
            found.append(str(self._kept.value(key) or ""))
        self._kept.endArray()
        return [text for text in found if text]

    def _put_texts(self, array: str, key: str, texts: Sequence[str]) -> None:
        """Keep an array of texts in place of the one that was kept."""
        self._kept.remove(array)
        self._kept.beginWriteArray(array, len(texts))
        for k, text in enumerate(texts):
            self._kept.setArrayIndex(k)
            self._kept.setValue(key, text)
        self._kept.endArray()
