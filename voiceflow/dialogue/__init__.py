"""The conversation: events in, actions out. No I/O, no clock."""
