"""Cooperage: the barrel programme of a small meadery."""

__version__ = "0.7.0"
