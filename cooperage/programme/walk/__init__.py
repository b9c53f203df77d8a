"""One walk through the cellar.

Its stops, what is done and skipped, the line typed at a stop, the paper sheet, the summary. Start with `stops`, then
`stop_line`.
"""
