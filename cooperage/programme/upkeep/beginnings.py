"""The first days of a cellar: what is missing before there is anything to show, and what to do about it."""

from cooperage.book import Cellar


def missing(cellar: Cellar) -> str:
    """Return in one sentence what a young cellar lacks, and what mends it; nothing once a barrel is filled."""
    if not len(cellar):
        return (
            "The cellar has no vessels yet; register one with `cooperage add vessel`, or bring in what you have with "
            "`cooperage import`."
        )
    if not any(standing.vessel.is_barrel for standing in cellar):
        return "The cellar has no barrel yet; register one with `cooperage add vessel TAG --capacity 225L`."
    if not cellar.lots:
        return "The cellar has no lot of mead yet; register one with `cooperage add lot CODE`."
    if not any(standing.ml for standing in cellar):
        return "Nothing is in the vessels; bring a lot in with `cooperage log receive LOT TANK LITRES`."
    if not any(standing.ml for standing in cellar.barrels):
        return "No barrel holds mead; fill one with `cooperage log fill BARREL --from TANK`."
    return ""


def nothing_due(cellar: Cellar, soonest: str = "") -> str:
    """Return that nothing is due, and why, or what comes next (`next_task`)."""
    return missing(cellar) or "Nothing is due." + (f" Next: {soonest}." if soonest else "")
