"""The whole part: one tilted picture of all beads, drawn into an image with a depth buffer; no Qt."""
