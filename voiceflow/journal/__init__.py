"""The append-only record of runs."""
