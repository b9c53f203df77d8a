"""Bottles as stock on screen: how many of which bottling are where, and what is done with them.

May know the shared room. Start with `screen`.
"""
