"""Programs that wait to be vetted: the newest is taken first, also of those that come meanwhile; no Qt."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterator, Mapping

from viewer.shown.window.inbox.folder_look import Stamp


class NewestFirst:
    """Paths by the time when they came; filled in one thread and taken from in another."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting: dict[str, Stamp] = {}

    def __len__(self) -> int:
        with self._lock:
            return len(self._waiting)

    def add(self, stamps: Mapping[str, Stamp]) -> None:
        """Let programs wait."""
        with self._lock:
            self._waiting.update(stamps)

    def keep(self, paths: Collection[str]) -> None:
        """Forget all that wait but these."""
        with self._lock:
            self._waiting = {path: stamp for path, stamp in self._waiting.items() if path in paths}

    def taken(self, stop: Callable[[], bool]) -> Iterator[str]:
        """Yield one path after the other until none waits, or `stop` says so."""
        while not stop():
            with self._lock:
                if not self._waiting:
                    return
                path = max(self._waiting, key=lambda one: self._waiting[one].came_s)
                del self._waiting[path]
            yield path
