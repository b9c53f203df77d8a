"""Rows of what a bottling goes by: the cellar's own values of rules."""
