"""Designed trials of a mixture and the fit to their scores.

Start with `designs`.
"""
