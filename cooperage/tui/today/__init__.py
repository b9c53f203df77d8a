"""Today: what is wrong, the day's walk, what was written last. Start with `screen`."""
