"""What a barrel's price leaves with the mead in it, as time passes: the charges of `spread_price`, day by day."""

from dataclasses import dataclass

from cooperage.book.replay.state import DAY
from cooperage.programme.wood.cost import CostBasis, left_in_books, part_of_fill


@dataclass(slots=True)
class BarrelBooks:
    """One barrel's price [cents, None unknown] and what is left of it; `used` are the fills that are over.

    All charges and what is left sum to the price to the cent, and each fill bears what `spread_price` gives it.
    `let_go` is what was left when it was retired.
    """

    price: int | None
    before: int | None
    basis: CostBasis
    used: float = 0.0
    filled_at: float | None = None
    left: int | None = None
    retired: bool = False
    let_go: int | None = None

    def __post_init__(self) -> None:
        self.left = self.price

    @property
    def is_known(self) -> bool:
        """True if what it is still to bear is known: it has a price, or none of any would be left."""
        return self.price is not None or not left_in_books(_MANY, self.before, self.used, self.basis)

    def charge(self, at: float) -> int | None:
        """Return what the mead in it bears since the last time this was asked [cents]; None where it is not known."""
        if self.filled_at is None or self.retired:
            return 0
        used = self.used + part_of_fill(max(0.0, (at - self.filled_at) / DAY))
        if self.price is None or self.left is None:
            return 0 if self.is_known else None
        before, self.left = self.left, min(self.left, left_in_books(self.price, self.before, used, self.basis))
        return before - self.left

    def stands_at(self, at: float, *, is_filled: bool) -> None:
        """Note that from now on it holds mead, or none: a fill begins, goes on or ends."""
        if is_filled and self.filled_at is None:
            self.filled_at = at
        elif not is_filled and self.filled_at is not None:
            self.used += part_of_fill(max(0.0, (at - self.filled_at) / DAY))
            self.filled_at = None

    def retires(self) -> int:
        """Let it go; return what was left of its price [cents]."""
        self.let_go, self.left, self.retired = self.left, None if self.price is None else 0, True
        return self.let_go or 0


_MANY = 10**9
"""A price that shows whether anything would be left of any."""
