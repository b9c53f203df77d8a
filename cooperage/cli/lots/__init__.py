"""`cooperage lot` and `cooperage lots`: honey, batch sheets, and all of a lot."""
