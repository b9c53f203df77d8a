"""Two quiet themes of our own: a dark one for the cellar, a light one for the office."""

from textual.theme import Theme

DARK = Theme(
    name="cellar-dark",
    dark=True,
    primary="#d8a657",
    secondary="#8fae9b",
    accent="#d8a657",
    foreground="#e4ddd0",
    background="#16130f",
    surface="#1e1a15",
    panel="#2a251e",
    success="#9cb37a",
    warning="#e0b050",
    error="#e07a5f",
)
LIGHT = Theme(
    name="cellar-light",
    dark=False,
    primary="#7a4f12",
    secondary="#3c6550",
    accent="#7a4f12",
    foreground="#1f1b16",
    background="#faf7f1",
    surface="#f3eee4",
    panel="#e6dfd1",
    success="#4c6b26",
    warning="#8a5a00",
    error="#a1331a",
)
