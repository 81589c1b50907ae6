"""What the window shows, without a window; no Qt."""
