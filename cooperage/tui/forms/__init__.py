"""Dialogs for what is not one act: a count, a lab slip and other pasted tables, the upkeep of a vessel.

Start with `paste_dialog`.
"""
