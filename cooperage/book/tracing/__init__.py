"""Where liquid went and where it came from, followed along the moves of the vessels that are reached, and no others.

Liquid in a vessel is mixed, so what leaves takes every part in proportion. How much there was before each move is
counted in whole millilitres from the vessel's own moves (`histories.py`), so an empty vessel hands nothing on, and only
what a path of moves joins is found, however little of it there is. `onward.py` follows marked liquid forward from where
it begins (`starts.py`), `back.py` what a bottling or a vessel holds back to where it came from. Both cost what they
find: the histories of the vessels they reach, not the book. May know the replay's times and the tables.
"""
