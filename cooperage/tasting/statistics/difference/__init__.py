"""Difference tests (triangle, duo-trio, paired, 3-AFC, tetrad): what right answers show.

Start with `counts`.
"""
