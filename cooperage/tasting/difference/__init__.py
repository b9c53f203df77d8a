"""Difference tests poured as flights: two samples, sets of blind glasses for each taster, one answer a set.

May know flights and the statistics of difference tests; no reader of scores knows it. Start with `shape`, then
`pouring`, `answering` and `outcome`.
"""
