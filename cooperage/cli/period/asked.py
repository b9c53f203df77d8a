"""What the commands about periods ask alike."""

HOW = "A month (2026-06), quarter (2026-Q2), year (2026), 'last month', or two days with dots (2026-07-01..2026-07-15)."
"""How a period is typed."""
