"""Two quiet themes of our own: a dark one for the cellar, a light one for the office.

Their colours are of a cold coast where honey is gathered: lime blossom, heather, sour cherry, sea and lichen. They were
mixed by eye and then moved until text stands out from what is behind it at least 4.5 times and marks 3 times, by the
contrast ratio of WCAG 2.1 (W3C, 2018), and until none of them is a colour that is widely in use under a name
(`tests/tui/test_themes.py`).
"""

from textual.theme import Theme

_LIME_BLOSSOM, _HEATHER, _CHERRY, _SEA, _LICHEN = "#c7cd76", "#bda3cb", "#f08a93", "#7fbcc6", "#93c48f"
DARK = Theme(
    name="cellar-dark",
    dark=True,
    primary=_LIME_BLOSSOM,
    secondary=_SEA,
    accent=_HEATHER,
    foreground="#dde5e2",
    background="#0f1719",
    surface="#162124",
    panel="#213035",
    success=_LICHEN,
    warning="#e6b96a",
    error=_CHERRY,
)
LIGHT = Theme(
    name="cellar-light",
    dark=False,
    primary="#565c10",
    secondary="#1f6470",
    accent="#73478a",
    foreground="#1a2224",
    background="#f6f8f4",
    surface="#ebf0ea",
    panel="#dae3dd",
    success="#2f6a37",
    warning="#805008",
    error="#9c2339",
)
