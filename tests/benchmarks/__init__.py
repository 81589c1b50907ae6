"""Programs that measure; not collected as tests."""
