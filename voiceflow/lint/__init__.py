"""Findings about check files: one rule a module."""
