"""Kernel family. One pass over the moves, or over the masks of two layers."""
