"""The screen of losses: what barrels lost against the usual, by cause and month.

Start with `screen`.
"""
