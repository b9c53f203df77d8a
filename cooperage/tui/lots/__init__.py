"""The screen of lots: what each lot has become and where it lies.

Start with `screen`.
"""
