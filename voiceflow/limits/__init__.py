"""Judging a reading against its limit."""
