"""Trials of blends by design: planned over some stocks, poured blind, scored, fitted, and handed to the blend desk.

Start with `trial`; `kept` reads and writes it, `planning` makes one, `results` is what its scores show.
"""
