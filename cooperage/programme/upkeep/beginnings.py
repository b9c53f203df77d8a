"""The first days of a cellar: what is missing before there is anything to show, and what to do about it."""

from collections.abc import Mapping

from cooperage.book import Cellar

BY_COMMAND: Mapping[str, str] = {
    "vessel": "register one with `cooperage add vessel`, or bring in what you have with `cooperage import`",
    "barrel": "register one with `cooperage add vessel TAG --capacity 225L`",
    "lot": "register one with `cooperage add lot CODE`",
    "mead": "bring a lot in with `cooperage log receive LOT TANK LITRES`",
    "fill": "fill one with `cooperage log fill BARREL --from TANK`",
}
"""What mends what is missing, at the command line."""

_LACKS: Mapping[str, str] = {
    "vessel": "The cellar has no vessels yet",
    "barrel": "The cellar has no barrel yet",
    "lot": "The cellar has no lot of mead yet",
    "mead": "Nothing is in the vessels",
    "fill": "No barrel holds mead",
}


def missing(cellar: Cellar, mends: Mapping[str, str] = BY_COMMAND) -> str:
    """Return in one sentence what a young cellar lacks, and what mends it; nothing once a barrel is filled."""
    lack = _first_lack(cellar)
    return f"{_LACKS[lack]}; {mends[lack]}." if lack else ""


def _first_lack(cellar: Cellar) -> str:
    if not len(cellar):
        return "vessel"
    if not any(standing.vessel.is_barrel for standing in cellar):
        return "barrel"
    if not cellar.lots:
        return "lot"
    if not any(standing.ml for standing in cellar):
        return "mead"
    return "" if any(standing.ml for standing in cellar.barrels) else "fill"


def nothing_due(cellar: Cellar, soonest: str = "", mends: Mapping[str, str] = BY_COMMAND) -> str:
    """Return that nothing is due, and why, or what comes next (`next_task`)."""
    return missing(cellar, mends) or "Nothing is due." + (f" Next: {soonest}." if soonest else "")
