"""The layer picture."""
