"""Names that pools and their readers share."""

UNCERTAINTY = "_u"
"""What follows a figure's name in the column that tells its standard uncertainty."""
