"""The wood: what is left in each barrel, what it costs, which to keep or retire, what to buy, what suits which lot.

May know signs, losses, ageing and the panel. Start with `standings.py`, which gathers all of it for each barrel.
"""
