"""Sheets over a whole screen that are worked by one typed line: of a taster, of a bottling run and its risks.

May know the shared room. Start with `line_sheet`.
"""
