"""The tests' own slow interpreter: plain Python from the design text, sharing no code with `viewer`."""
