"""What is asked of a blend.

The brief as typed or kept in a file, its limits and the lines of law, and what each figure of a blend is called.
Knows no stock and no solver. Start with `brief`.
"""
