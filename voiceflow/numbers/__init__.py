"""Spoken numbers over the scale of a gauge, both ways, whatever the language."""
