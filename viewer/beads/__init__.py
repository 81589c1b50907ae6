"""Stage 3, beads: what a move lays down (`section`) and how it is drawn as masks and pictures (`draw`)."""
