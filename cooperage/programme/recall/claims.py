"""What stands behind a label of a bottling or a vessel: age in wood, honeys, woods, with shares and the least of them.

The trail behind a claim, from the book's own moves; which claims are allowed, your authority decides.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book
from cooperage.book.replay.state import DAY
from cooperage.book.store.registry import Registry
from cooperage.book.trace import Share, bottled_back, shares
from cooperage.book.tracing.back import Back, Origins
from cooperage.book.tracing.histories import LAST, Histories
from cooperage.book.tracing.names import Names
from cooperage.book.tracing.subject import Subject, subject_of
from cooperage.programme.recall.asked import NoWayBack, lots_in
from cooperage.programme.recall.found import HoneyBehind
from cooperage.programme.recall.honeys import honeys_behind

UNKNOWN, NEW = "not known", "new"


@dataclass(frozen=True, slots=True)
class LabelClaims:
    """What can be claimed: days in barrels (least and mean), days since pitching (least), honeys, woods, past lives.

    `honeys` are shares of the mead by the honey it was made with, `sources` the honeys of its lots' batch sheets with
    their mass; `woods` are shares that rested in each wood at any time, so they may sum to more than one; `past_lives`
    are by the last barrel. What is not known is None, or named so.
    """

    code: str
    litres: float
    least_wood_days: float | None
    mean_wood_days: float | None
    least_age_days: float | None
    honeys: list[Share]
    woods: list[Share]
    past_lives: list[Share]
    never_in_wood_share: float
    sources: list[HoneyBehind]

    @staticmethod
    def least(parts: Iterable[Share]) -> Share | None:
        """Return the smallest share; None where there is none."""
        return min(parts, key=lambda share: share.fraction, default=None)


def label_claims(book: Book, code: str) -> LabelClaims:
    """Work out what can be claimed of a bottling, or of what a vessel holds now; raises NothingToTrace, NoWayBack."""
    with book.reading() as connection:
        registry, histories = Registry(connection), Histories(connection)
        subject = subject_of(connection, registry, code)
        if subject.kind in ("lot", "entry"):
            raise NoWayBack(subject.code)
        if subject.kind == "bottling":
            at = subject.filled[0].at
            origins = bottled_back(connection, subject.filled, histories, registry)
        else:
            at = book.now()
            origins = Back(histories, registry).of_vessel(subject.id, LAST, at, counts_its_wood=True)
        names = Names(connection, registry)
        sources = honeys_behind(connection, lots_in(origins, names), names, float(origins.ml) or 1.0)
        return _claims(subject, origins, names, registry, at, sources)


def _claims(
    subject: Subject,
    origins: Origins,
    names: Names,
    registry: Registry,
    at: datetime,
    sources: list[HoneyBehind],
) -> LabelClaims:
    parts, whole = origins.parts, float(origins.ml) or 1.0
    pitched = [names.lot(origin).pitched_on for origin, _ in parts if names.is_lot(origin)]
    known = [each for each in pitched if each is not None]
    is_all_known = bool(pitched) and len(known) == len(pitched)
    woods = [(wood or UNKNOWN, ml) for (_, strand), ml in parts.items() for wood in strand.woods]
    return LabelClaims(
        subject.code,
        origins.ml / 1000,
        origins.least_wood_days,
        origins.wood_ml_days / whole if origins.ml else None,
        min((at - each).total_seconds() / DAY for each in known) if is_all_known else None,
        shares(_honey_parts(origins, names, sources)),
        [Share(share.name, 1000 * share.litres / whole, share.litres) for share in shares(woods)],
        shares((_past(strand.barrel, registry), ml) for (_, strand), ml in parts.items() if strand.barrel is not None),
        sum(ml for (_, strand), ml in parts.items() if strand.barrel is None) / whole,
        sources,
    )


def _honey_parts(origins: Origins, names: Names, sources: list[HoneyBehind]) -> Iterator[tuple[str | None, float]]:
    """Yield honeys [ml]: by the batch sheets, else by what a lot was registered with."""
    by_sheet = {each.lot for each in sources}
    for each in sources:
        yield each.floral or each.honey, each.ml
    for (origin, _), ml in origins.parts.items():
        if names.of(origin) not in by_sheet:
            yield _honey(origin, names), ml


def _honey(origin: str, names: Names) -> str:
    """Return the honey of a lot; a substance that was added is itself."""
    return (names.lot(origin).honey or f"{UNKNOWN} ({names.of(origin)})") if names.is_lot(origin) else origin


def _past(vessel: str, registry: Registry) -> str:
    """Return what a barrel held before its first fill here; NEW of one that held nothing."""
    barrel = registry.by_id(vessel).barrel
    if barrel is not None and barrel.past_kind == "none":
        return NEW
    return (barrel.past_life if barrel is not None else None) or UNKNOWN
