"""The closed period: what came in, went out and is there, by class of strength, and its figures as they were filed.

May know what stands below `pasted` and the bottles of the book. Start with `figures`, which makes the figures of a span;
`postings` turns entries into lines, `rounding` prints them so that they add up, `closing` freezes them.
"""
