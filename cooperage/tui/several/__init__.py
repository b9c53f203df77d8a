"""The same act on several vessels in one form, orders in the same form, and striking what was written as one.

Screens open these; they know the shared room. Start with `acts`, then `form` and `order_forms`.
"""
