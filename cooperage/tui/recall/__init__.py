"""Recall on screen: what something reached and what it comes from, as a table and as a tree, with what follows.

May know the shared room and the forms. Start with `screen`; `question` is what was asked and what was found of it,
`lines` and `tree` make its lines.
"""
