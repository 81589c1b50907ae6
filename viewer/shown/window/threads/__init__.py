"""Work beside the window: the loader, newest-wins tasks, staggered painting, the collector."""
