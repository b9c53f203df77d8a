"""`cooperage period`: show, close and compare periods."""
