"""Pages and tables made from a run."""
