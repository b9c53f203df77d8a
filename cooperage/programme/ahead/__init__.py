"""Vessels on a later day: level, strength, when each needs topping, what is usual.

May know what is due. Start with `forecast`.
"""
