"""The Answers pane: the seven questions of a keeper and their answers."""
