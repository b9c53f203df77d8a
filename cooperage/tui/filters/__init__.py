"""Filters of every drawn line, for terminals that show fewer colours or lack our marks.

Start with `fewer_colours`.
"""
