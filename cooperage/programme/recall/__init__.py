"""Recall: what a lot, a vessel, an entry, a hand or a span reached, and what a bottling or a vessel comes from.

`asked.py` answers a question with rows; `claims.py` what stands behind a label, with its shares; `words.py` writes
both as lines. May know the book's tracing and the units; writes nothing.
"""
