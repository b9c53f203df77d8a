"""The surface of three stocks as an SVG: small triangles coloured by the fitted score, what was tasted, the best."""

from collections.abc import Iterator
from xml.sax.saxutils import escape

import numpy as np

from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.results import TrialResults, surface_at
from cooperage.blending.trials.trial import blend_words
from cooperage.errors import Refused
from cooperage.units import DEFAULT, Quantity, Units, show

_STEPS = 36
_SIDE, _LEFT, _TOP = 480.0, 60.0, 70.0
_HEIGHT = _SIDE * 3**0.5 / 2
_LOW, _HIGH = (38, 56, 120), (252, 214, 76)
"""Dark blue for the lowest score to yellow for the highest: lightness alone separates them (common practice)."""
_OUTSIDE = "#e4e4e4"
_KEY_STEPS = 7


class NotThreeStocks(Refused):
    """A picture of a trial that has more or fewer than three stocks."""

    def __init__(self, code: str, stocks: int) -> None:
        self.code, self.stocks = code, stocks
        super().__init__(f"trial {code} has {stocks} stocks; a picture is drawn of three, so leave --picture out")


def surface_svg(found: TrialResults, units: Units = DEFAULT) -> str:
    """Return the surface of a trial of three stocks as an SVG; raises NotThreeStocks."""
    if len(found.trial.stocks) != 3:
        raise NotThreeStocks(found.trial.code, len(found.trial.stocks))
    corners = _small_triangles()
    values = surface_at(found, corners.mean(axis=1))
    known = values[np.isfinite(values)]
    low, high = float(known.min()), float(known.max())
    width, height = _SIDE + 2 * _LEFT + 90, _HEIGHT + 2 * _TOP
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        'font-family="sans-serif" font-size="14">',
        f"<title>{escape(f'{found.trial.code}: fitted score for {found.what}')}</title>",
        f'<rect width="{width:.0f}" height="{height:.0f}" fill="white"/>',
        *_surface(corners, values, low, high),
        *_frame(found.trial.names),
        *_marks(found, units),
        *_key(low, high, units),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _small_triangles() -> Floats:
    """Return the corners of the small triangles that fill the large one, of shape (n, 3 corners, 3 shares)."""
    steps, found = _STEPS, []
    for a in range(steps):
        for b in range(steps - a):
            c = steps - a - b
            found.append([(a + 1, b, c - 1), (a, b + 1, c - 1), (a, b, c)])
            if c > 1:
                found.append([(a + 1, b + 1, c - 2), (a + 1, b, c - 1), (a, b + 1, c - 1)])
    return np.array(found, dtype=np.float64) / steps


def _place(shares: Floats) -> Floats:
    """Return where blends stand in the picture, of shape (..., 2): the first stock on top, the second on the left."""
    x = _LEFT + _SIDE * (shares[..., 2] + shares[..., 0] / 2)
    y = _TOP + _HEIGHT * (1 - shares[..., 0])
    return np.stack([x, y], axis=-1)


def _surface(corners: Floats, values: Floats, low: float, high: float) -> Iterator[str]:
    for three, value in zip(_place(corners), values, strict=True):
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in three)
        fill = _OUTSIDE if np.isnan(value) else _colour((value - low) / (high - low) if high > low else 0.5)
        yield f'<polygon points="{points}" fill="{fill}" stroke="{fill}" stroke-width="0.4"/>'


def _colour(share: float) -> str:
    mixed = (round(a + (b - a) * share) for a, b in zip(_LOW, _HIGH, strict=True))
    return "#" + "".join(f"{part:02x}" for part in mixed)


def _frame(names: list[str]) -> Iterator[str]:
    places = _place(np.eye(3))
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    yield f'<polygon points="{points}" fill="none" stroke="black"/>'
    for name, (x, y), down in zip(names, places, (-14, 24, 24), strict=True):
        yield f'<text x="{x:.1f}" y="{y + down:.1f}" text-anchor="middle">{escape(name)} 100 %</text>'


def _marks(found: TrialResults, units: Units) -> Iterator[str]:
    for each in found.blends:
        x, y = _place(np.array(each.shares))
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="white" stroke="black"/>'
    if found.best is not None:
        x, y = _place(found.best.shares)
        words = blend_words(found.trial.names, found.best.shares, units.decimal)
        yield f'<path d="M{x - 8:.1f} {y:.1f}h16M{x:.1f} {y - 8:.1f}v16" stroke="black" stroke-width="3"/>'
        yield f'<text x="{_LEFT:.0f}" y="{_TOP + _HEIGHT + 50:.0f}">+ best blend: {escape(words)}; o tasted</text>'


def _key(low: float, high: float, units: Units) -> Iterator[str]:
    left, tall = _LEFT + _SIDE + 20, _HEIGHT / _KEY_STEPS
    for at in range(_KEY_STEPS):
        share = 1 - at / (_KEY_STEPS - 1)
        y = _TOP + at * tall
        value = show(Quantity.NUMBER, low + (high - low) * share, units, digits=1)
        yield f'<rect x="{left:.0f}" y="{y:.1f}" width="24" height="{tall:.1f}" fill="{_colour(share)}"/>'
        yield f'<text x="{left + 30:.0f}" y="{y + tall / 2 + 5:.1f}">{value}</text>'
