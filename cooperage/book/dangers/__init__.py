"""What can hurt people: each danger declared once, with the work or the state of a vessel that calls for it.

May know the book as it stands, never a screen or a command. Start with `dangers`.
"""
