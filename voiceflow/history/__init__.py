"""What the journal knows of runs before: how long items took, how gauges went."""
