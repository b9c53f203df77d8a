"""How entries become states.

Events in their order, the one place that applies them, and what is kept of the result so that it is not calculated
twice. May know `store` and `declared`. Start with `replay`, then `contents` for what a liquid is made of.
"""
