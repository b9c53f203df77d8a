"""The bottling run: opened once its risks are settled or passed, its lines as they happen, and closed into the book.

May know `bottling_risks`, `together`, `ageing`, `losses`, `rules` and `book`. Start reading in `run.py`; `drawn.py` is
the pure part that shares out the millilitres, `closing.py` writes them.
"""
