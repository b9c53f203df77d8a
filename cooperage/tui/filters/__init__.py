"""What every drawn line passes on its way to the terminal: fewer colours, older characters, nothing it would obey."""
