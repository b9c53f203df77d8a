"""Rows of the five files of tasting, and the vocabulary and flights they are, both ways.

May know what the exchange's subjects may know. Start with `all_rows`.
"""
