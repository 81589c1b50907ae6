"""The lesson made of the program on show: its steps, its questions, the view of each step."""
