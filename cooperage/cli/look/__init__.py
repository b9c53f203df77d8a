"""Commands that show how the cellar stands: rounds, barrels, one barrel, signs, trace.

Each file one command, so that none pays for what only another shows; `shown` is what they share.
"""
