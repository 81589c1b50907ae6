"""From the expected to the actual time: the steps between them, and the places that take longest."""
