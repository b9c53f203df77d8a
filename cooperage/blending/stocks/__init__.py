"""What a blend can be made of: the pool of stocks and what can be added to it.

May know `brief`. Start with `pool`.
"""
