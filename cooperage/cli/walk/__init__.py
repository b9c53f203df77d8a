"""Commands around the walk: the paper sheet, lab slips, counts, sulphite, room climate, upkeep.

Each file one command.
"""
