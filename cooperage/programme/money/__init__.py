"""What the mead has cost, where that value is, and what became of it: a help for your books, not accounting advice.

May know the book and the wood's cost. Start with `ledger`, one pass over the book in which the cost of every lot, dose,
barrel and bottle goes where the millilitres go, in whole cents; `worth` divides and joins it, `value` asks for it at
any date, `words` and `as_rows` show it.
"""
