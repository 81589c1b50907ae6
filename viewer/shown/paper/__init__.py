"""Paper: the job sheet."""
