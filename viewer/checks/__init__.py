"""Stage 6, figures to findings: ``finding -> one module a theme -> policy -> run``."""
