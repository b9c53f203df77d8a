"""The air of the rooms: temperature and humidity by month, and what evaporates into it.

Start with `climate`.
"""
