"""Copies of a whole cellar and what is done when a file is damaged: backup, restore, setting aside.

May know the whole book; nothing else in the book knows it. Start with `backup`, then `restore`.
"""
