"""What a young cellar lacks, with the keys that mend it."""

from collections.abc import Mapping

from cooperage.book import Cellar
from cooperage.programme.upkeep import beginnings
from cooperage.tui.keys import pressed

_NEW, _RACKS, _LOTS, _ALL = (pressed(word) for word in ("new", "racks", "lots", "all"))
MENDS: Mapping[str, str] = {
    "vessel": f"{_RACKS} and then {_NEW} registers one, or several; {_ALL} “import” brings in what you have",
    "barrel": f"{_RACKS} and then {_NEW} registers one",
    "lot": f"{_LOTS} and then {_NEW} registers one",
    "mead": f"on the page of a tank {pressed('receive')} brings a lot in",
    "fill": f"on the page of a barrel {pressed('fill')} fills it",
}
"""What mends what is missing, on screen."""


def missing(cellar: Cellar) -> str:
    """Return in one sentence what a young cellar lacks, and what mends it; nothing once a barrel is filled."""
    return beginnings.missing(cellar, MENDS)


def nothing_due(cellar: Cellar, soonest: str = "") -> str:
    """Return that nothing is due, and why, or what comes next."""
    return beginnings.nothing_due(cellar, soonest, MENDS)
