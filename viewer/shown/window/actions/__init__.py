"""Everything the window can do: the table of actions, and its Qt side."""
