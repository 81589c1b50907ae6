"""The Findings pane."""
