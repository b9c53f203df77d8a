"""All by name: the command palette over places, acts, vessels, lots, bottlings, flights, words and notes.

Start with `providers`.
"""
