"""What is kept of each program opened lately: a small picture, the worst answer and the time."""
