"""Designed trials of a mixture: which blends to taste, what their scores show, and which blend is best.

Start with `d_optimal` for a design and with `best` for an answer; `region` is what may be tried.
"""
