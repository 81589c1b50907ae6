"""Kernel family. Runs of beads at one height, and roles read from shape."""
