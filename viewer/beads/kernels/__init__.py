"""Kernel family. Beads from moves, drawn, and their regions."""
