"""When to pull: the cellar's own definition of ready, and when each barrel is likely to meet it.

May know the figures that age and the tastings. Start with `readiness`, what every door asks; `limits` has the
definition in plain words, `curves` how what is tasted goes on, `chances` the weeks in which all limits hold.
"""
