"""Bottling runs on screen: the risks before the first bottle, what is counted in one line, and closing.

May know the forms, the sheets and the shared room. Start with `screen`.
"""
