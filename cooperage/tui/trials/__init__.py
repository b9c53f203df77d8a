"""The screen of trials: what was planned, poured and scored, and the best blend. Start with `screen`."""
