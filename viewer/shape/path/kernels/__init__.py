"""Kernels that follow the nozzle over a map of heights."""
