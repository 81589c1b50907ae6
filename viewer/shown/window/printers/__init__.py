"""The Printers pane."""
