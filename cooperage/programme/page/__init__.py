"""What the page of a vessel and its charts are drawn from: its past, its figures beside their limits, lines and ticks.

May know all of the programme but the day and the orders. Start with `past` and `figures`.
"""
