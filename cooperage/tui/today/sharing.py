"""How the lines of the page are shared out: what is wrong and what was ordered first, what is least urgent last."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_FEWEST_OF_TROUBLE = 3
_FEW_ORDERS, _SOME_ORDERS, _MOST_ORDERS = 2, 3, 12
_FEW_ABOUT = 2
_MOST_OF_REST = 5


@dataclass(frozen=True, slots=True)
class Shares:
    """Lines of each part: rows of what is wrong, orders, about the pointer, the walk, and all that stands last."""

    matters: int = 0
    orders: int = 0
    about: int = 0
    walk: int = 0
    rest: int = 0

    @property
    def lines(self) -> int:
        """All lines, with the heading over the orders."""
        return self.matters + self.about + self.walk + self.rest + self.orders + (1 if self.orders else 0)


def shared_out(lines: int, matters: int, trouble: int, orders: int, walk: Sequence[int], *, about: int) -> Shares:
    """Share `lines` out among so many rows of what is wrong, of which `trouble` are trouble, and so many orders.

    `walk` are the numbers of lines that the walk can take, ascending; `about` those wanted about the pointer.
    Each want, the most urgent first, is met while there is room for all of it.
    """
    shares = Shares()
    for wanted in _wants(max(1, matters), max(1, trouble), orders, walk, about=about):
        more = Shares(*(max(has, want) for has, want in zip(_parts(shares), _parts(wanted), strict=True)))
        if more.lines <= lines:
            shares = more
    return shares


def _parts(shares: Shares) -> tuple[int, ...]:
    return shares.matters, shares.orders, shares.about, shares.walk, shares.rest


def _wants(matters: int, trouble: int, orders: int, walk: Sequence[int], *, about: int) -> Iterator[Shares]:
    """Yield what is wanted, the most urgent first."""
    short, carried, *roomy = [*walk, *walk[-1:]]
    yield Shares(matters=min(trouble, _FEWEST_OF_TROUBLE))
    yield Shares(about=min(about, _FEW_ABOUT))
    yield Shares(orders=min(orders, 1))
    yield Shares(walk=short)
    for rows in range(_FEWEST_OF_TROUBLE, trouble + 1):
        yield Shares(matters=rows)
    yield Shares(orders=min(orders, _FEW_ORDERS))
    yield Shares(about=about)
    yield Shares(walk=carried)
    yield Shares(matters=min(matters, trouble + 1))
    yield Shares(orders=min(orders, _SOME_ORDERS))
    yield from (Shares(walk=taken) for taken in roomy[:1])
    yield Shares(rest=1)
    yield from (Shares(matters=rows) for rows in range(trouble + 1, matters + 1))
    yield Shares(rest=2)
    yield from (Shares(walk=taken) for taken in roomy[1:])
    yield from (Shares(rest=taken) for taken in range(3, _MOST_OF_REST + 1))
    yield from (Shares(orders=taken) for taken in range(_SOME_ORDERS, min(orders, _MOST_ORDERS) + 1))
