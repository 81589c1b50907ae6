"""The kernels that draw the whole part."""
