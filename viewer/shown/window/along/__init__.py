"""Speed along the path: what the planner makes of the layer on show, or of the seconds around the chosen moment."""
