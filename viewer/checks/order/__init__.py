"""Whether filament and layers come in the order and amount in which they are counted."""
