"""The Program pane: the text and its explanation."""
