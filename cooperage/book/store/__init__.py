"""The database.

Tables, the one opener and committer, the triggers that keep the promises, and whether a file is a sound cellar. May
know `declared`, for what a column can hold. Start with `engine`; `tables` is a room of its own.
"""
