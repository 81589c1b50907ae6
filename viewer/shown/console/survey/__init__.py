"""The command `beadline survey`."""
