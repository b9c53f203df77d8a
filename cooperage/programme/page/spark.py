"""A small line of a figure's past, one letter a reading; a past that its readings' doubt explains looks quiet."""

from collections.abc import Sequence

STEPS = "▁▂▃▄▅▆▇"
_SPANS = 4.0
"""A line spans at least so many standard uncertainties of its readings from its foot to its head."""


def small_line(values: Sequence[float], doubt: float, most: int = 10) -> str:
    """Return the last `most` values as letters from ▁ to ▇, lowest to highest.

    The scale spans at least four times `doubt`, one standard uncertainty of a reading, about the middle of the values,
    so that what is no more than that lies within two neighbouring steps of the middle. Fewer than two are no past.
    """
    shown = values[-most:]
    if len(shown) < 2:
        return ""
    low, high = min(shown), max(shown)
    span, middle = max(high - low, _SPANS * doubt), (low + high) / 2
    return "".join(STEPS[_step(value - middle, span)] for value in shown)


def _step(off: float, span: float) -> int:
    top = len(STEPS) - 1
    return top // 2 if span <= 0 else round(top * (0.5 + off / span))
