"""Stage 1, text to moves, events and notes."""
