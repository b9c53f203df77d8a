"""Batches: the honey of a lot, what it was made of, how it ferments, and how it stands in its vessels.

May know figures that age, losses and the book. Start with `sheet` (what went in), then `must` (the gravity that makes),
`readings` and `curve` (what ferments and where it ends), `stuck`, `lot_sheet` (all of a lot).
"""
