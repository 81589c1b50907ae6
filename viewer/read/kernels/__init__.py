"""Kernel family. The scanner: bytes of a block -> rows of moves, events, notes and changes of modes."""
