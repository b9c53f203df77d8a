"""Which vessel a barrel is topped from: the kegs, and how alike two meads are."""

from cooperage.book import Cellar, Standing


def kegs_of(cellar: Cellar) -> list[Standing]:
    """List the small vessels that hold something to top with."""
    return [s for s in _with_mead_to_give(cellar) if s.vessel.kind in ("keg", "demijohn")]


def _with_mead_to_give(cellar: Cellar) -> list[Standing]:
    return [s for s in cellar if s.ml > 0 and not s.is_retired and not s.is_quarantined]


def likeness(standing: Standing, other: Standing) -> float:
    """Return how much of two meads is of the same lots: 1 is all, 0 nothing."""
    return sum(min(share, other.lots.get(lot, 0.0)) for lot, share in standing.lots.items())


_SOURCES = {"keg": 0, "demijohn": 1, "tank": 2, "barrel": 3}


def sources_for(barrel: Standing, cellar: Cellar) -> list[Standing]:
    """List vessels to top a barrel from: kegs first, then tanks, then barrels of the same lot; most alike first."""
    held = [s for s in _with_mead_to_give(cellar) if s.tag != barrel.tag]
    alike = [s for s in held if not s.vessel.is_barrel or likeness(barrel, s) > 0]
    return sorted(alike, key=lambda s: (_SOURCES[s.vessel.kind], -likeness(barrel, s), s.tag))


def best_keg(standing: Standing, kegs: list[Standing], needed_ml: int, wanted: str | None = None) -> str | None:
    """Choose the keg that holds enough and is most like the barrel; None where no keg holds anything."""
    named = [keg for keg in kegs if keg.tag == wanted and keg.ml >= needed_ml]
    if named:
        return named[0].tag
    ranked = sorted(kegs, key=lambda keg: (keg.ml < needed_ml, -likeness(standing, keg), keg.ml, keg.tag))
    return ranked[0].tag if ranked else None
