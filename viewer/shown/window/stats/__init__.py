"""The Stats pane."""
