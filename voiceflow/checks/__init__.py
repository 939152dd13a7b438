"""What a check is, and its file."""
