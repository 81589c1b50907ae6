"""Colours, icons, light and dark, text size."""
