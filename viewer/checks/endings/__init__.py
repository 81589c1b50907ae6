"""Whether the end of a program is there, and whether it switches the machine off."""
