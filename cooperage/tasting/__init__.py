"""Flights, blind codes, scores and what a panel's figures can tell."""

from cooperage.tasting.agreement import friedman, icc, kendall_w
from cooperage.tasting.discrimination import triangle_critical, triangle_test

__all__ = ["friedman", "icc", "kendall_w", "triangle_critical", "triangle_test"]
