"""The page of one vessel: what it is, what it holds, its past and its charts.

Start with `screen`.
"""
