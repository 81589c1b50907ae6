"""A survey in words and as data: what console, paper and window say of its rows."""
