"""The screen of figures: which readings are worth most, and how near forecasts of figures have come.

Start with `screen`.
"""
