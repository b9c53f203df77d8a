"""Filters of every drawn line, for terminals that show fewer colours, lack our marks or obey what they read.

Start with `fewer_colours`.
"""
