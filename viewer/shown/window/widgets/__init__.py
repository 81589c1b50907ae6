"""Small parts that several panes share; they know nothing of programs."""
