"""The form of a card."""
