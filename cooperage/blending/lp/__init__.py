"""The linear programme.

Columns, limits, aims and ranks as matrices, the one call of HiGHS, and its repetition until limits hold at the mixed
volume. May know stocks and brief. Start with `model`, then `highs`.
"""
