"""How vessels are to be looked after.

Policies and their defaults, limits and whether a figure breaks them, doses, moving to another position. Start with
`care`.
"""
