"""What would help: levers ranked by what they save, and a trial of several together."""
