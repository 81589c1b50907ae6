"""The whole part beside the layer picture."""
