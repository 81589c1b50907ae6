"""Kernel family. One pass over the moves; bodies; hulls."""
