"""The blend desk: brief on one side, answer on the other, plans compared, the bench sheet, the pour.

Start with `screen`; `solving` owns the process that solves.
"""
