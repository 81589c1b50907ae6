"""`Announcer`: tells those who listen to a topic that it changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

Topic = Literal[
    "program",
    "start",
    "spool",
    "layer",
    "moment",
    "selection",
    "hover",
    "colouring",
    "shown",
    "roles",
    "strip",
    "findings",
    "evidence",
    "halted",
    "play",
    "lit",
    "teaching",
    "past",
    "trial",
    "cause",
    "times",
    "place",
    "areas",
]
TOPICS: Final[tuple[Topic, ...]] = get_args(Topic)


@dataclass(slots=True, kw_only=True)
class Announcer:
    """Listeners by topic; several changes can be told as one."""

    _listeners: dict[Topic, list[Callable[[], object]]] = field(default_factory=dict)
    _held: set[Topic] | None = None
    """Topics that changed inside `together`; None outside of it."""

    def listen(self, topic: Topic, listener: Callable[[], object]) -> Callable[[], None]:
        """Call `listener` whenever `topic` changes; returns what ends that."""
        listeners = self._listeners.setdefault(topic, [])
        listeners.append(listener)
        return lambda: listeners.remove(listener) if listener in listeners else None

    def tell(self, *topics: Topic) -> None:
        """Call the listeners of some topics, or remember to inside `together`."""
        if self._held is not None:
            self._held.update(topics)
            return
        for topic in topics:
            for listener in tuple(self._listeners.get(topic, ())):
                listener()

    @contextmanager
    def together(self) -> Iterator[None]:
        """Change several things and tell once a topic at the end, in the order of `TOPICS`."""
        if self._held is not None:
            yield
            return
        self._held = set()
        try:
            yield
        finally:
            held, self._held = self._held, None
            self.tell(*(topic for topic in TOPICS if topic in held))
