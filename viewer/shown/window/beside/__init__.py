"""Two programs beside each other: times by cause, layers that differ, settings, and what only one of them lays."""
