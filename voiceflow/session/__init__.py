"""The loop: the one place that wires parts."""
