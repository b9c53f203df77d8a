"""Periods on screen: what was filed, the next to close, its figures by class, and what came later.

May know the shared room. Start with `screen`.
"""
