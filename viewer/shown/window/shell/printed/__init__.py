"""What goes on paper, or into a file that is printed: job sheet, handout, their layout on A4."""
