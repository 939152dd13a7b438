"""Frames of sound from files and devices."""
