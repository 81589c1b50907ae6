"""The console: command line, text, JSON and CSV."""
