"""The closed period: what came in, went out and is there, by class of strength, and its figures as filed.

May know what stands below it in the programme, and the book. Start with `figures`, which makes the figures of a span;
`postings` turns entries into lines, `rounding` prints them so that they add up, `closing` freezes them.
"""
