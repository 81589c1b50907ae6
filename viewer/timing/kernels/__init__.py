"""Kernel family. Speed limits, look-ahead, trapezoids, the ledger."""
