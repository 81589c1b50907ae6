"""Stage 6, columns to numbers: every number that is shown anywhere has its home here."""
