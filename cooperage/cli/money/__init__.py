"""Commands about money: what the cellar is worth, what a code has cost, what the angels cost, prices."""
