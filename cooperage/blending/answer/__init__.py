"""From numbers to reasons: the answer and its figures, what holds it back, how far prices may move, how sure it is.

May know the programme that was solved. Start with `answer`.
"""
