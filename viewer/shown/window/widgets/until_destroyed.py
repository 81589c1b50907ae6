"""What ends when a widget is destroyed: listening to the view state, which outlives panes, and work beside the window."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject

from viewer.shown.window.model.view_state import Topic, ViewState


def end_with(owner: QObject, *ends: Callable[[], object]) -> None:
    """Call each of `ends` when `owner` is destroyed, by Qt, with its parent, or by Python."""
    owner.destroyed.connect(lambda: [end() for end in ends])


def listen_until_destroyed(
    owner: QObject, state: ViewState, listener: Callable[[], object], *topics: Topic
) -> None:
    """Call `listener` whenever one of `topics` changes, until `owner` is destroyed."""
    end_with(owner, *(state.listen(topic, listener) for topic in topics))
