"""What a cellar can record, as data.

Kinds of entry and their fields, readings, additions, treatments, looks, outside places, and how a typed text becomes
an act. Knows no database. Start with `acts`.
"""
