"""Endpointing and the engines that turn frames into hypotheses."""
