"""Finding vessels by a few typed words.

Start with `query`; `described` holds what the words are compared with.
"""
