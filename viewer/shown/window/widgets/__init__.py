"""Small parts that several panes share; they know nothing of panes or of the view state."""
