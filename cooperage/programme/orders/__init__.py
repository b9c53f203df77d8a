"""Orders: what is to be done, written beforehand, checked against what it will find, and done with what really came.

Nothing of an order is in the book before hands did it. May know several at once, and all below. Start with `order`,
then `kept`, `checked` and `doing`; `shown` and `paper` put them into text.
"""
