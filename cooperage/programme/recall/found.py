"""The answer to a recall as rows: places with millilitres, shares, times and hands."""

from dataclasses import dataclass, field, replace
from datetime import datetime

from cooperage.book.bottles import place_words
from cooperage.book.declared.places import BOTTLE_PLACES, BottlePlace
from cooperage.book.trace import Trace


@dataclass(frozen=True, slots=True)
class BottleHolder:
    """Bottles in a store or an outside place that have some of it: with whom, by which papers, how many.

    `share` of each is what is traced, `ml` of all of them; negative bottles came back without a name.
    """

    place: str
    to: str
    documents: tuple[str, ...]
    bottles: int
    share: float
    ml: float
    is_away: bool

    @property
    def is_in_store(self) -> bool:
        """Return True if they are in the cellar's own hands."""
        return self.place not in BOTTLE_PLACES

    @property
    def ml_there(self) -> float:
        """All that these bottles hold [ml]."""
        return self.ml / self.share

    @property
    def words(self) -> str:
        """Where they are: "sold to Harbour inn", "Loft"."""
        to = f" {'in' if self.place == BottlePlace.IN_BOND else 'to'} {self.to}" if self.to else ""
        return f"{place_words(self.place)}{to}"


@dataclass(frozen=True, slots=True)
class RecallRow:
    """A place that is joined: "bottling", "vessel", "passed" (a vessel that holds none of it now), "lost" or "lot".

    `fraction` is of all that is traced, `share_there` of what the place holds; `days` are the mean days there. What
    is unknown, or does not apply, is None. Of a bottling, `entry` is the id of its entry; `holders` have its bottles.
    """

    kind: str
    place: str
    ml: float
    fraction: float
    share_there: float | None = None
    first: datetime | None = None
    last: datetime | None = None
    hands: tuple[str, ...] = ()
    bottles: int | None = None
    days: float | None = None
    wood: str = ""
    entry: str | None = None
    holders: tuple[BottleHolder, ...] = ()


@dataclass(frozen=True, slots=True)
class RecallBranch:
    """A line of the tree: how deep, what place of which kind, how much came along the branch, when and by whom.

    `kind` is "vessel", "bottling", "lot", "honey" or "outside", `fraction` is of all that is traced. Where `is_above`,
    the place is unfolded further above already.
    """

    depth: int
    place: str
    ml: float
    first: datetime | None
    hands: tuple[str, ...]
    is_above: bool = False
    kind: str = ""
    fraction: float = 0.0
    last: datetime | None = None


@dataclass(frozen=True, slots=True)
class RecallDose:
    """An addition on the way: what, how much, where, when and by whom; `fraction` of it is in what is traced."""

    entry: str
    at: datetime
    vessel: str
    substance: str
    amount: float
    hand: str
    fraction: float


@dataclass(frozen=True, slots=True)
class HoneyBehind:
    """A honey in a lot that is traced: its code, its flowers, producer, harvest and the supplier's lot; who brewed it.

    `ml` of what is traced was made with it, in proportion to the honeys of the batch, `fraction` of all of it; `grams`
    of it are in that. `of_lot` is its part of the lot's honey by mass, `share` that of all the honey there is in what
    is traced. What is unknown is None.
    """

    lot: str
    honey: str
    floral: str | None
    producer: str | None
    harvest: str | None
    supplier_lot: str | None
    hand: str
    ml: float
    fraction: float
    grams: float | None
    of_lot: float
    share: float | None = None

    @property
    def called(self) -> str:
        """Its code and its flowers."""
        return f"{self.honey} {self.floral}" if self.floral else self.honey

    def with_share(self, share: float) -> "HoneyBehind":
        """Return it with its share of all the honey."""
        return replace(self, share=share)


@dataclass(slots=True)
class Recall:
    """What was found of a question: `title` and `direction` ("forward" or "back"), rows, tree and what goes with them.

    `kind` is what is traced: "bottling", "lot", "entry", a vessel's kind, or "" for all entries of a hand or a span.
    """

    title: str
    direction: str
    ml: float
    kind: str = ""
    rows: list[RecallRow] = field(default_factory=list)
    tree: list[RecallBranch] = field(default_factory=list)
    doses: list[RecallDose] = field(default_factory=list)
    honeys: list[HoneyBehind] = field(default_factory=list)
    hands: list[str] = field(default_factory=list)
    gained_ml: float = 0.0
    trace: Trace | None = None

    @property
    def leads_back(self) -> bool:
        """Return True if what is traced comes from somewhere: a bottling, or what a vessel holds."""
        return self.kind not in ("", "lot", "entry")

    def of(self, *kinds: str) -> list[RecallRow]:
        """Return the rows of some kinds."""
        return [row for row in self.rows if row.kind in kinds]
