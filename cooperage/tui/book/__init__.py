"""The screen of the book: entries as they were written, filtered, struck.

Start with `screen`.
"""
