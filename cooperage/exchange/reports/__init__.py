"""Figures on paper: each report a function from the book to typed rows, and the labels.

May know the programme. Start with `reports`; `flows` makes the figures of a period add up as printed.
"""
