"""From an act to rows.

The moves it means, the questions asked back, the checks that hold for every kind, the one writer. May know `replay`,
`store`, `declared` and `dangers`. Start with `write`, then `plans`.
"""
