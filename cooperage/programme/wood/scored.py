"""What panels scored of the mead in each barrel, as observations of its wood."""

from collections.abc import Iterator, Mapping

from cooperage.book import Book, Cellar
from cooperage.book.replay.state import DAY
from cooperage.programme.wood.effect import WoodScore
from cooperage.programme.wood.history import BarrelHistory
from cooperage.tasting.vessels import VesselScore, vessel_scores_of

ONE_TASTER_SD = 12.0
"""How far one taster's score may be off, of 100 (common practice, no source)."""


def wood_scores(book: Book, cellar: Cellar, past: Mapping[str, BarrelHistory]) -> list[WoodScore]:
    """Return every score of revealed flights that a barrel got, with the fill it was of and its days in wood."""
    return [
        found
        for tag, scores in vessel_scores_of(book).items()
        if tag in past and tag in cellar
        for found in _of_barrel(tag, scores, cellar, past[tag])
    ]


def _of_barrel(tag: str, scores: list[VesselScore], cellar: Cellar, past: BarrelHistory) -> Iterator[WoodScore]:
    barrel = cellar[tag].vessel.barrel
    if barrel is None or barrel.fills_before is None:
        return
    for given in scores:
        at = given.at.timestamp()
        for place, fill in enumerate(past.fills, 1):
            is_in_it = fill.began <= at and (fill.ended is None or at <= fill.ended)
            if is_in_it and given.at <= cellar.at and given.of_100 is not None:
                sd = ONE_TASTER_SD / max(1, given.tasters) ** 0.5
                yield WoodScore(tag, barrel.fills_before + place, (at - fill.began) / DAY, given.of_100, sd)
