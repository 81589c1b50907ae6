"""Stage 2, moves to layers, objects and roles."""
