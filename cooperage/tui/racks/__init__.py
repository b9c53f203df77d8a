"""The racks as a map: every vessel in its place, found by words, moved.

Start with `screen`, then `map`.
"""
