"""The nozzle's path against what is printed: ``heights`` (nozzle), ``head`` (head and gantry), ``reach`` (the room)."""
