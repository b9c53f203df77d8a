"""What a panel's figures can show, as pure functions on tables: no book, no flight, one scale in a table.

A table has a row a glass and a column a taster; NaN marks a glass not
tasted. It may know `errors` and `units` alone. Start with `tables`.
"""
