"""What is said above the picture beside the banner: a better card, and that the job on show is not the one asked for."""
