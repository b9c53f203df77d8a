"""What became of a retired barrel, what was received for it, and what of its price is written off."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.programme.wood.basis import cost_basis
from cooperage.programme.wood.cost import CostBasis
from cooperage.programme.wood.history import BarrelHistory, histories
from cooperage.programme.wood.standings import cost_of


@dataclass(frozen=True, slots=True)
class Retirement:
    """A retired barrel: when, why, what became of it; money received, left in the books then, and so written off.

    What is unknown is None: without a price nothing is known to be written off.
    """

    barrel: str
    at: datetime
    reason: str
    disposition: str
    received: float | None
    book_value: float | None

    @property
    def written_off(self) -> float | None:
        """What was left in the books beyond what was received [money]; a gain is below zero."""
        return None if self.book_value is None else round(self.book_value - (self.received or 0.0), 2)


def retirement_of(book: Book, cellar: Cellar, tag: str, basis: CostBasis | None = None) -> Retirement | None:
    """Return what became of a barrel; None while it is in the programme or if it is none. Raises NoSuchVessel.

    Its price is spread by the cellar's own `basis` unless another is given.
    """
    standing = cellar[tag]
    if not standing.is_retired or not standing.vessel.is_barrel:
        return None
    with book.reading() as connection:
        found = entries(connection, vessel_id=standing.vessel.id, kind=acts.Retire.kind, standing=True)
    basis = cost_basis(book) if basis is None else basis
    price = cost_of(standing, histories(book, cellar).get(standing.tag, BarrelHistory()), basis).price
    said = found[-1].said
    return Retirement(
        standing.tag,
        found[-1].happened_at,
        said["reason"],
        said.get("disposition") or "",
        said.get("received"),
        None if price is None else price.left,
    )
