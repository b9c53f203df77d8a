"""How colours are seen: contrast, difference, and what eyes with a colour-vision deficiency make of them."""

import csv
import json
from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt
from pathlib import Path

REFERENCE = Path(__file__).parents[1] / "reference"
_MATRICES = json.loads((REFERENCE / "colour_vision_matrices.json").read_text())
DEFICIENCIES = tuple(name for name in _MATRICES if name != "source")
_TO_XYZ = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
"""sRGB (IEC 61966-2-1), white D65."""
_WHITE = (0.95047, 1.0, 1.08883)

Triple = tuple[float, float, float]


def linear(colour: str) -> Triple:
    """Return linear RGB, 0 to 1, of a colour such as "ece4d4" (IEC 61966-2-1)."""
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4))
    return _linear(red), _linear(green), _linear(blue)


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4


def _times(matrix: tuple[Triple, Triple, Triple], of: Triple) -> Triple:
    one, two, three = (sum(a * b for a, b in zip(row, of, strict=True)) for row in matrix)
    return one, two, three


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it, 0 for black and 1 for white."""
    red, green, blue = linear(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.1 defines it, 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def seen(colour: str, deficiency: str = "") -> Triple:
    """Return a colour as linear RGB, as an eye sees it; without a deficiency as it is."""
    rgb = linear(colour)
    if not deficiency:
        return rgb
    red, green, blue = (min(1.0, max(0.0, part)) for part in _times(_MATRICES[deficiency], rgb))
    return red, green, blue


def lab(rgb: Triple) -> Triple:
    """Return CIE L*a*b* of linear RGB (CIE 15:2004)."""
    x, y, z = (_root(part / white) for part, white in zip(_times(_TO_XYZ, rgb), _WHITE, strict=True))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _root(part: float) -> float:
    return part ** (1 / 3) if part > (6 / 29) ** 3 else part / (3 * (6 / 29) ** 2) + 4 / 29


def difference(one: str, other: str, deficiency: str = "") -> float:
    """Return how different two colours look (CIEDE2000), to an eye with a deficiency where one is named."""
    return ciede2000(lab(seen(one, deficiency)), lab(seen(other, deficiency)))


def ciede2000(one: Triple, other: Triple) -> float:
    """Return the CIEDE2000 difference of two colours in L*a*b* (Sharma, Wu and Dalal 2005, equations 2 to 22)."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean = (hypot(a1, b1) + hypot(a2, b2)) / 2
    widened = 1 + 0.5 * (1 - sqrt(mean**7 / (mean**7 + 25.0**7)))
    a1, a2 = a1 * widened, a2 * widened
    c1, c2 = hypot(a1, b1), hypot(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    if turn == -180 and h2 > h1:
        turn = 180.0
    light, chroma, hue = l2 - l1, c2 - c1, 2 * sqrt(c1 * c2) * sin(radians(turn) / 2)
    c_mean, l_mean, h_mean = (c1 + c2) / 2, (l1 + l2) / 2, _mean_hue(h1, h2, c1 * c2)
    s_l = 1 + 0.015 * (l_mean - 50) ** 2 / sqrt(20 + (l_mean - 50) ** 2)
    s_c, s_h = 1 + 0.045 * c_mean, 1 + 0.015 * c_mean * _waves(h_mean)
    rotated = 2 * sqrt(c_mean**7 / (c_mean**7 + 25.0**7)) * sin(radians(60 * exp(-(((h_mean - 275) / 25) ** 2))))
    of_c, of_h = chroma / s_c, hue / s_h
    return sqrt((light / s_l) ** 2 + of_c**2 + of_h**2 - rotated * of_c * of_h)


def _hue(a: float, b: float) -> float:
    return degrees(atan2(b, a)) % 360 if a or b else 0.0


def _mean_hue(one: float, other: float, chromas: float) -> float:
    if chromas == 0:
        return one + other
    if abs(one - other) <= 180:
        return (one + other) / 2
    return (one + other + 360) / 2 if one + other < 360 else (one + other - 360) / 2


def _waves(hue: float) -> float:
    terms = ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63))
    return 1 + sum(weight * cos(radians(times * hue + turned)) for weight, times, turned in terms)


def published_pairs() -> list[tuple[Triple, Triple, float]]:
    """Return the published pairs of colours in L*a*b*, with their difference."""
    lines = [line for line in (REFERENCE / "ciede2000_pairs.csv").read_text().splitlines() if not line.startswith("#")]
    pairs = []
    for row in csv.reader(lines[1:]):
        l1, a1, b1, l2, a2, b2, given = map(float, row)
        pairs.append(((l1, a1, b1), (l2, a2, b2), given))
    return pairs
