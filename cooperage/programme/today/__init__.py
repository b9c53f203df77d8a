"""The day at a glance: trouble, the walk, what to carry. Start with `glance`; `words` has its short lines."""
