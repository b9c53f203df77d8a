"""What every figure of a vessel is now: what was measured, aged by what the cellar's own record shows, with its doubt.

May know the losses and the air. Start with `models`, where each figure declares how it ages, then `filtering`, where
readings and time meet; `figures` hands the result to the doors, in `doubts` stands what the errors of several vessels
have in common.
"""
