"""From a plan to litres: the bench sheet, the glass scaled up again, the entry in the book.

Start with `tank`.
"""
