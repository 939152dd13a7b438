"""One module an engine."""
