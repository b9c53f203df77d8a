"""The scales on which tasters score: declared once, each by the text that is kept with what is scored on it.

A score is kept as it was given, on the scale it was given on; scores of two scales are never averaged. Scales as in ISO
4121 (quantitative response scales) and common practice.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from cooperage.book.declared.allowed import LEAST_FIGURE
from cooperage.book.declared.spelling import folded, spellings_of
from cooperage.errors import BadInput


class NotAScale(BadInput):
    """A scale that is no pair of numbers."""

    def __init__(self, scale: str) -> None:
        self.scale = scale
        super().__init__(f"'{scale}' is not a scale; give the lowest and the highest score, such as 0-20")


class OffTheScale(BadInput):
    """A score that the scale does not have."""

    def __init__(self, value: float, scale: str, what: str = "", why: str = "") -> None:
        self.value, self.scale, self.what = value, scale, what
        low, high = bounds(scale)
        whole = "whole " if is_whole(scale) else ""
        unit = " mm" if scale.endswith(" mm") else ""
        subject = f"{what} {value:g}" if what else f"{value:g}"
        super().__init__(
            f"{subject} is not on the scale {scale}; give a {whole}score from {low:g} to {high:g}{unit}{why}"
        )


@dataclass(frozen=True, slots=True)
class RatingScale:
    """A scale that has a name: its text as it is kept, what it is, whether it takes whole numbers only."""

    text: str
    label: str
    other: tuple[str, ...] = ()
    whole: bool = False


SCALES: Mapping[str, RatingScale] = {
    scale.text: scale
    for scale in (
        RatingScale("0-10", "intensity, none to very strong", ("intensity", "0-10 intensity")),
        RatingScale(
            "1-9 hedonic", "liking, from dislike to like extremely", ("hedonic", "9-point", "liking"), whole=True
        ),
        RatingScale("0-20", "quality, 20 points", ("20 points", "20-point", "points")),
        RatingScale("0-100 mm", "a line of 100 mm, read in mm", ("line", "mm", "100 mm", "mm line")),
    )
}
"""Every scale that has a name, by its text; any other pair of numbers is a scale too."""
OVERALL = "overall"
"""What the score of the glass as a whole is called beside its attributes; it has the flight's own scale."""
_NAMED = spellings_of({scale.text: scale.other for scale in SCALES.values()})
_PAIR = re.compile(r"(?P<low>[\d.]+) ?[-–] ?(?P<high>[\d.]+)")


def scale_named(text: str) -> str:
    """Return a scale's text as it is kept: "intensity" and "0 – 10" are "0-10"; raises NotAScale."""
    plain = folded(text)
    if plain in _NAMED:
        return _NAMED[plain]
    pair = _PAIR.fullmatch(plain)
    kept = f"{pair['low']}-{pair['high']}" if pair else text.strip()
    bounds(kept)
    return kept


def bounds(scale: str) -> tuple[float, float]:
    """Return the lowest and highest score of a scale such as "0-20" or "0-100 mm"; raises NotAScale."""
    numbers = scale.rpartition(" ")[0] if scale in SCALES and " " in scale else scale
    low, _, high = numbers.partition("-")
    try:
        ends = float(low), float(high)
    except ValueError:
        raise NotAScale(scale) from None
    if not (isfinite(ends[0]) and isfinite(ends[1]) and ends[0] < ends[1]):
        raise NotAScale(scale)
    return ends


def is_whole(scale: str) -> bool:
    """Return True if a scale takes whole numbers only."""
    return scale in SCALES and SCALES[scale].whole


def check_on_scale(value: float, scale: str, what: str = "") -> None:
    """Refuse a score that is not on its scale; `what` is scored, for the message. Raises OffTheScale."""
    low, high = bounds(scale)
    is_speck = 0 < abs(value) < LEAST_FIGURE
    if not low <= value <= high or is_speck or (is_whole(scale) and value != round(value)):
        raise OffTheScale(value, scale, what)


def share_of_scale(value: float, scale: str) -> float:
    """Return how far up a scale a score stands: 0 at its lowest, 1 at its highest; off the scale it is cut there."""
    low, high = bounds(scale)
    return min(max((value - low) / (high - low), 0.0), 1.0)
