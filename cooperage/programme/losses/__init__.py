"""Where the litres went.

Every visit of the record, loss rates pooled with similar barrels, leaks, the allowance, and the level of a vessel
now. May know the air of the rooms. Start with `record` and `visits`, then `rates`.
"""
