"""One order as a value, and the errors about orders."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from cooperage.book.declared.from_text import Texts
from cooperage.errors import BadInput, Refused
from cooperage.programme.several.wanted import Wanted


class OrderState(StrEnum):
    """What became of an order."""

    OPEN = "open"
    DONE = "done"
    WITHDRAWN = "withdrawn"


class NoSuchOrder(BadInput):
    """A number that no order bears."""

    def __init__(self, number: str) -> None:
        self.number = number
        super().__init__(f"there is no order '{number}'; `cooperage orders` lists them")


class NotOpen(Refused):
    """An order that was done or withdrawn before."""

    def __init__(self, number: int, state: OrderState) -> None:
        self.number, self.state = number, state
        super().__init__(f"order {number} is {state.value} already; write a new one")


class NotOrdered(BadInput):
    """A kind of entry that cannot be ordered."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"a {kind} is not ordered; write it when it is done")


class NoPlace(BadInput):
    """An order moved to where it cannot be."""

    def __init__(self, number: int) -> None:
        super().__init__(f"order {number} is moved before another order, or after another; name one of the two")


class WantsAReason(BadInput):
    """An order withdrawn without a word why."""

    def __init__(self) -> None:
        super().__init__("an order is withdrawn with its reason; give it in a few words")


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be done on a local `day`, as the `place`-th of it: texts for all vessels and those for `each`.

    The texts are understood in any units. `entries` are the ids of what was written when it was done, `why` is the
    reason for which it was withdrawn.
    """

    id: str
    number: int
    day: date
    place: int
    kind: str
    texts: Texts
    each: Mapping[str, Texts]
    note: str
    hand: str
    written_at: datetime
    state: OrderState = OrderState.OPEN
    entries: tuple[str, ...] = ()
    why: str = ""
    closed_at: datetime | None = field(default=None)

    @property
    def list_field(self) -> str:
        """The field in which its vessels are named: where it goes if that is several, or else what is worked on."""
        return next((name for name in ("to", "vessel") if "," in self.texts.get(name, "")), "vessel")

    @property
    def tags(self) -> list[str]:
        """The vessels that it is about, by their tags."""
        return self.texts[self.list_field].split(",")

    @property
    def wanted(self) -> Wanted:
        """What is wanted, as texts."""
        return Wanted(self.kind, self.texts, self.each)
