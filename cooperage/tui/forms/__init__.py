"""Dialogs for what is not one act.

A count, a lab slip and other pasted tables (start with `paste_dialog`); the upkeep of a vessel; new vessels and lots,
settings, reports and labels, an import (start with `asked_form`; `openers` has what every screen can open).
"""
