"""Rows of what was filed with an authority: periods, and the entries they count.

May know the tables of the exchange. Start with `periods`.
"""
