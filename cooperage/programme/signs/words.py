"""What a hand calls a sign, in a word or two, the same everywhere."""

from collections.abc import Callable, Mapping

from cooperage.book import Standing
from cooperage.programme.signs.sign import ODD_LOSS, Sign, SignState
from cooperage.programme.upkeep.defaults import upkeep_of

OVER_ACIDITY = "vinegar"
"""What volatile acidity over its limit is called."""


def word_of(sign: Sign, standing: Standing) -> str:
    """Return the word of a sign whose state is known: "SO2 low", "bung weeping"; of a kind without one, the kind."""
    word = _WORDS.get(sign.kind, sign.kind)
    return word if isinstance(word, str) else word(sign, standing)


def _acidity(_sign: Sign, standing: Standing) -> str:
    ceiling, value = upkeep_of(standing).va_ceiling_g_l or 0.0, standing.value("va_g_l") or 0.0
    return OVER_ACIDITY if value > ceiling else "VA climbs"


def _sulphite(sign: Sign, _standing: Standing) -> str:
    return "SO2 low" if sign.state is SignState.TROUBLE else "SO2 near"


def _dip(sign: Sign, _standing: Standing) -> str:
    return "dip short" if (sign.about_l or 0.0) >= 0 else "dip over"


def _seen(sign: Sign, _standing: Standing) -> str:
    """Return what was seen or smelled, which the reason begins with."""
    return sign.why.partition(":")[0]


_WORDS: Mapping[str, str | Callable[[Sign, Standing], str]] = {
    "va": _acidity,
    "sulphite": _sulphite,
    "sulphite loss": "SO2 falls",
    "gravity": "working?",
    "dip": _dip,
    "litres": "litres off",
    "partial": "part full",
    "bung": lambda sign, standing: f"bung {_seen(sign, standing)}",
    "smell": _seen,
    ODD_LOSS: "odd loss",
    "stuck": "stuck?",
    "ferment warmth": lambda sign, _standing: sign.why.partition(" for ")[0],
    "strength": "stronger",
}
