"""The same act on several vessels: which they are, what is proposed for each, all written as one or nothing.

May know search, what is written together and upkeep. Start with `named`, then `wanted`, `proposed` and `written`.
"""
