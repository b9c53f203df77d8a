"""Files of rows, of any subject: CSV and workbooks read and written, cells and columns, formulas made harmless.

Knows no book. Start with `sheets`.
"""
