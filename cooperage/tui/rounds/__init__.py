"""The walk: the list of stops, the line typed at a stop, the end of the walk.

Start with `screen`.
"""
