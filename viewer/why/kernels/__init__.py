"""Kernels of the room: one family."""
