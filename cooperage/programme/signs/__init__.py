"""What needs a look, and why: each sign found from the record of a vessel.

May know losses and upkeep. Start with `all_signs`, which asks each of the others.
"""
