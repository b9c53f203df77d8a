"""What several screens share.

The frame of a screen, the form of an act, lists, dialogs, gauges, and the desk through which screens write. May know
the rooms below the terminal; no screen. Start with `cellar_screen`, then `desk`.
"""
