"""The tool bar and its fields, the switch of arrangements, and what is under way."""
