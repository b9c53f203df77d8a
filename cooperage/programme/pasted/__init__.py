"""Tables that come from elsewhere as text.

Lab slips, counts, climate logs, tallies; read, checked and shown before anything is written. Start with `table`.
"""
