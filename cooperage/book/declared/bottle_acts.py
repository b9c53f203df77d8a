"""What hands do with bottles after they were filled: stowed, removed, taken back, counted, poured back into a vessel.

A bottling stays one: its code names it in each of these. Bottles are whole; cases are a way of typing them ("4x12").
"""

from dataclasses import dataclass

from cooperage.book.declared.act import Act
from cooperage.book.declared.allowed import LONGEST_CODE
from cooperage.book.declared.fields import Holds, field_spec
from cooperage.book.declared.places import REMOVALS, BottlePlace, canonical_removal
from cooperage.units import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Stow(Act):
    """Record bottles put in a named store: a room, a rack, a cage, a shop.

    Bottles are typed loose or in cases: 48, 4x12, 4x12+3. What was just bottled is in no named store yet.
    """

    kind = "stow"
    label = "stow bottles"
    done = "stowed"
    examples = (
        "cooperage log stow SALT-25 10x12 Shop --out-of Cage",
        "cooperage log stow SALT-25 6 Shop --out-of Library --json",
    )
    sentence = "{bottles} bottles of {code} in {store}"
    stays_closed = True
    one_at_a_time = True
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.BOTTLES, argument=True)
    store: str = field_spec("store", Holds.TEXT, argument=True)
    source: str = field_spec("from the store", Holds.TEXT, name="out-of", phrase="from {}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remove(Act):
    """Record bottles taken out of stock: sold, in bond elsewhere, tasted (or opened), given away, broken.

    Bottles are typed loose or in cases: 48, 4x12, 4x12+3. --to is who got them, --document the number of the invoice
    or of the paper that goes with them.
    """

    kind = "remove"
    label = "take bottles out of stock"
    done = "removed"
    examples = (
        "cooperage log remove SALT-25 4x12 sold --out-of Cage --to 'Harbour inn' --document 118",
        "cooperage log remove SALT-25 2 broken --out-of Cage --note 'case dropped' --json",
    )
    sentence = "{bottles} bottles of {code} {went}"
    stays_closed = True
    one_at_a_time = True
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.BOTTLES, argument=True)
    went: str = field_spec(
        "what became of them", Holds.CHOICE, argument=True, choices=lambda: REMOVALS, canonical=canonical_removal
    )
    source: str = field_spec("from the store", Holds.TEXT, name="out-of", phrase="from {}", default="")
    party: str = field_spec("to whom", Holds.TEXT, name="to", phrase="to {}", default="")
    document: str = field_spec("document number", Holds.TEXT, phrase="document {}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeBack(Act):
    """Record bottles that came back into stock after they were sold, shipped in bond or otherwise removed."""

    kind = "takeback"
    label = "take bottles back"
    word = "take back"
    done = "took back"
    examples = (
        "cooperage log remove SALT-25 12 sold --out-of Cage --to 'Harbour inn' && "
        "cooperage log takeback SALT-25 12 --in Cage --whose 'Harbour inn' --json",
    )
    sentence = "{bottles} bottles of {code} that were {went}"
    stays_closed = True
    one_at_a_time = True
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.BOTTLES, argument=True)
    went: str = field_spec(
        "what had become of them",
        Holds.CHOICE,
        name="were",
        phrase="that were {}",
        choices=lambda: REMOVALS,
        canonical=canonical_removal,
        default=BottlePlace.SOLD.value,
    )
    store: str = field_spec("into the store", Holds.TEXT, name="in", phrase="into {}", default="")
    party: str = field_spec("who gave them back", Holds.TEXT, name="whose", phrase="by {}", default="")
    document: str = field_spec("document number", Holds.TEXT, phrase="document {}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocktake(Act):
    """Record how many bottles of a bottling were counted in a store; the difference from the book is written off.

    Where more are found than the book has, they come from the same place; either way the difference stays to be seen.
    """

    kind = "stocktake"
    label = "count bottles"
    word = "stocktake"
    done = "counted"
    examples = ("cooperage log stocktake SALT-25 611 --in Cage --sure --json",)
    sentence = "{bottles} bottles of {code} counted"
    stays_closed = True
    one_at_a_time = True
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles found", Holds.BOTTLES, argument=True)
    store: str = field_spec("in the store", Holds.TEXT, name="in", phrase="in {}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class PourBack(Act):
    """Pour bottles back into a vessel: it regains their litres, and the mead keeps the origin it was bottled with.

    --loss is what did not get there: spilled, or left in the bottles.
    """

    kind = "pourback"
    brief = "pour back into {vessel}[: {bottles} bottles][ of {code}]"
    label = "pour bottles back into a vessel"
    word = "pour back"
    done = "poured back"
    examples = ("cooperage log pourback SALT-25 24 T-4 --out-of Library --loss 200ml",)
    fills = "vessel"
    sentence = "{bottles} bottles of {code}"
    one_at_a_time = True
    replays_fields = True
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.BOTTLES, argument=True)
    vessel: str = field_spec("into", Holds.TAG, argument=True)
    source: str = field_spec("from the store", Holds.TEXT, name="out-of", phrase="from {}", default="")
    loss: int = field_spec("lost", Quantity.VOLUME, moved=True, default=0)
