"""Before and at the bottling: the risks of the mead to be bottled, and the statistics of what is filled.

May know `rules`, `ageing` and `book`. Start reading in `risks.py`; `fill.py` are pure functions of volumes.
"""
