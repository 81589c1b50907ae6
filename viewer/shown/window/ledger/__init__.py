"""The time ledger pane."""
