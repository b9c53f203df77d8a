"""`cooperage rules`: what the law asks, with sources and dates, and the cellar's own values.

Parse, call one function of `programme/rules`, print. Start reading in `commands.py`.
"""
