"""The layer strip and the slider within the layer."""
