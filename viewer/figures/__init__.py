"""Stage 5, columns to numbers: every number that is shown anywhere has its home here."""
