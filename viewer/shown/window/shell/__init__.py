"""The main window: docks, tool bar, start page, notices, opening, saved settings."""
