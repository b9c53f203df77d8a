"""How good the figures of now are: every reading of the book held against what had been forecast for it.

Start with `scored`, which replays the book; `scores` sums errors, bands and a proper score, `scoreboard` is what is
shown.
"""
