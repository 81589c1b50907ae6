"""What each command can be asked: its options, and the sentence for a mistake in them."""
