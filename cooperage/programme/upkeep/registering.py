"""What is asked of a new vessel or lot, declared once for the form and the command, and how they are registered.

Several vessels of one kind are registered at once by their tags in a row: `B-051..B-058`, `B-051; B-060..B-062`. All
of them are registered, or none.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, TypeVar

from cooperage.book import Barrel, Book, Cellar, Lot, Vessel
from cooperage.book.declared.allowed import tidied
from cooperage.book.declared.fields import Holds
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.registry import PAST_KINDS, VESSEL_KINDS, tidied_vessel
from cooperage.book.writing.doubts import ask_of_capacity
from cooperage.errors import BadInput
from cooperage.plaintext import visible
from cooperage.programme.upkeep.asking import Asked, allowed_of, value_of
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_date, show_exact

MOST_AT_ONCE = 500
"""More tags than a cellar has room for are a slip of a finger."""
_SERIES = re.compile(r"(?P<letters>.*?)(?P<first>\d+)\s*\.\.\s*(?P<again>.*?)(?P<last>\d+)")
_NUMBERED = re.compile(r"(.*?)(\d+)")


OF_VESSEL: tuple[Asked, ...] = (
    Asked("tag", "tag", "tag", "Tag to be written on the vessel, such as B-201; or several: B-201..B-208.", "TAG",
          needed=True, example="B-201, or B-201..B-208"),
    Asked("kind", "kind", "kind", f"Kind of vessel: {', '.join(VESSEL_KINDS)}.", "KIND", Holds.CHOICE, VESSEL_KINDS),
    Asked("capacity_ml", "capacity", "capacity", "Full to the brim, such as 225 L or 59 gal.", "VOLUME",
          Quantity.VOLUME, needed=True),
    Asked("capacity_how", "measured", "capacity measured", "Capacity was measured, not nominal.", "", Holds.FLAG),
    Asked("room", "room", "room", "Where it lies: cellar, loft, ...", "ROOM", example="Loft"),
    Asked("row", "row", "row", "Row in the room, such as A.", "ROW", example="A"),
    Asked("bay", "bay", "bay", "Place along the row, counted from 1; of several, that of the first.", "NUMBER",
          Quantity.COUNT, example="4"),
    Asked("tier", "tier", "tier", "Height in the stack, 1 at the floor.", "NUMBER", Quantity.COUNT, example="1"),
    Asked("wood", "wood", "wood", "Species, such as 'sessile oak'.", "WOOD", of_wood=True, example="sessile oak"),
    Asked("forest", "forest", "forest", "Forest or country the wood came from.", "TEXT", of_wood=True,
          example="a forest or a country"),
    Asked("cooper", "cooper", "cooper", "Who made the barrel.", "TEXT", of_wood=True, example="who made it"),
    Asked("toast_staves", "toast", "toast of the staves", "Toast of the staves: light, medium, heavy, ...", "TEXT",
          of_wood=True, example="medium"),
    Asked("past_life", "past-life", "held before", "What was in it before you bought it, such as 'red wine'.", "TEXT",
          of_wood=True, example="red wine"),
    Asked("past_kind", "past-kind", "held before, as a class",
          f"The same as a class, for cautions and wood: {', '.join(PAST_KINDS)}.", "KIND", Holds.CHOICE, PAST_KINDS,
          of_wood=True),
    Asked("fills_before", "fills-before", "fills before purchase", "Fills before purchase; omit if unknown.", "NUMBER",
          Quantity.COUNT, of_wood=True, example="2; blank if unknown"),
)  # fmt: skip
"""What is asked of a vessel beside its note, in the order of the form."""

OF_LOT: tuple[Asked, ...] = (
    Asked("code", "code", "code", "Code of the batch, such as HEATHER-26.", "CODE", needed=True, example="HEATHER-26"),
    Asked("name", "name", "name", "Name in full (default: the code).", "TEXT", example="Heather 2026"),
    Asked("honey", "honey", "honey", "Honey it was made from, such as heather.", "TEXT", example="heather"),
    Asked("original_sg", "original-gravity", "original gravity", "Before fermentation, such as 1.118 or 27 Bx.",
          "GRAVITY", Quantity.GRAVITY),
    Asked("final_sg", "final-gravity", "final gravity", "After fermentation, such as 1.022.", "GRAVITY",
          Quantity.GRAVITY),
    Asked("abv", "strength", "strength", "Measured, such as 13.5 (% vol) or 27 proof.", "STRENGTH", Quantity.STRENGTH),
    Asked("cost_per_l", "cost-per-litre", "cost of a litre", "What a litre has cost so far.", "MONEY", Quantity.MONEY,
          example="6.20"),
)  # fmt: skip
"""What is asked of a lot beside its note."""

_PLACES = ("room", "row", "bay", "tier")
_USUAL_KIND = "barrel"


# --- from texts -----------------------------------------------------------------------------------------------------


def read_tags(text: str) -> list[str]:
    """Return the tags of a text such as `B-051..B-058; B-060`, each once, in its order; raises BadInput."""
    tags = [tag for part in text.split(";") for tag in _series(part.strip())]
    if len(tags) > MOST_AT_ONCE:
        raise _too_many(len(tags))
    return list({tag.upper(): tag for tag in reversed(tags)}.values())[::-1]


def _series(text: str) -> list[str]:
    found = _SERIES.fullmatch(text)
    if found is None:
        return [text] if text else []
    letters, again, first, last = found["letters"], found["again"], int(found["first"]), int(found["last"])
    if again.strip() and again.strip().upper() != letters.upper():
        raise BadInput(f"'{text}' runs from one kind of tag to another; write it as {letters}{found['first']}..{last}")
    if last < first:
        raise BadInput(f"'{text}' runs backwards; begin with the lower number")
    if last - first >= MOST_AT_ONCE:
        raise _too_many(last - first + 1)
    return [f"{letters}{number:0{len(found['first'])}}" for number in range(first, last + 1)]


def _too_many(count: int) -> BadInput:
    return BadInput(f"that would be {count} vessels; register at most {MOST_AT_ONCE} at once")


def parse_vessels(texts: Mapping[str, str], units: Units = DEFAULT) -> list[Vessel]:
    """Return the vessels that texts by outside name mean, one for each tag; raises BadField.

    Blanks stay unknown. Of several, the first lies in the bay that is given and the others follow along the row.
    """
    values = {asked.field: _value_of(asked, texts, units) for asked in OF_VESSEL}
    kind = values["kind"] or _USUAL_KIND
    position = tuple(values[part] for part in _PLACES)
    wood = {asked.field: values[asked.field] for asked in OF_VESSEL if asked.of_wood}
    pattern = Vessel(
        id="",
        tag="",
        kind=kind,
        capacity_ml=values["capacity_ml"],
        capacity_how="measured" if values["capacity_how"] else "nominal",
        note=texts.get("note", ""),
        barrel=Barrel(**wood),
    )
    room, row, bay, tier = position
    places = [(room, row, bay + nth if bay else bay, tier) for nth in range(len(values["tag"]))]
    return [
        allowed_of(OF_VESSEL, tidied_vessel, replace(pattern, tag=tag, position=place))
        for tag, place in zip(values["tag"], places, strict=True)
    ]


def _value_of(asked: Asked, texts: Mapping[str, str], units: Units) -> Any:  # noqa: ANN401 - as many types as fields
    return value_of(asked, texts, units, read_tags if asked.field == "tag" else None)


def parse_lot(texts: Mapping[str, str], units: Units = DEFAULT) -> Lot:
    """Return the lot that texts by outside name mean; raises BadField."""
    values = {asked.field: _value_of(asked, texts, units) for asked in OF_LOT}
    values["name"] = values["name"] or values["code"]
    return allowed_of(OF_LOT, tidied, Lot(id="", note=texts.get("note", ""), **values))


Wanted = TypeVar("Wanted", Vessel, Lot)

# --- into the book --------------------------------------------------------------------------------------------------


class TagsTaken(AlreadyThere):
    """Tags of which each is a vessel's already; nothing is registered."""

    def __init__(self, tags: Sequence[str]) -> None:
        self.tags = tuple(tags)
        super().__init__("vessel", "', '".join(tags))


def register_vessels(book: Book, vessels: Sequence[Vessel], *, hand: str = "", sure: bool = True) -> list[Vessel]:
    """Register vessels, all of them or none, signed with the hand at work; raises TagsTaken, NotAllowed.

    Unless `sure`, a capacity that no vessel of its kind usually has is asked back (Implausible).
    """
    if not sure:
        ask_of_capacity(vessels[0])
    with book.writing() as session:
        if taken := [vessel.tag for vessel in vessels if session.registry.has(vessel.tag)]:
            raise TagsTaken(taken)
        return [session.add_vessel(_signed(vessel, hand, session.now)) for vessel in vessels]


def register_lot(book: Book, lot: Lot, *, hand: str = "") -> Lot:
    """Register a lot, signed with the hand at work; raises AlreadyThere, NotAllowed."""
    with book.writing() as session:
        return session.add_lot(_signed(lot, hand, session.now))


def _signed(wanted: Wanted, hand: str, now: datetime) -> Wanted:
    return replace(wanted, registered_by=hand or None, registered_at=now)


def registered_words(known: Vessel | Lot, now: datetime) -> str:
    """Return by whom and when something was registered: "registered 26 Nov by Ada"; "" where neither is known."""
    when = "" if known.registered_at is None else f" {show_date(known.registered_at, now).strip()}"
    by = f" by {visible(known.registered_by)}" if known.registered_by else ""
    return f"registered{when}{by}" if when or by else ""


# --- what a form proposes and announces -----------------------------------------------------------------------------


def proposals(cellar: Cellar, kind: str = _USUAL_KIND, units: Units = DEFAULT) -> dict[str, str]:
    """Return texts for a new vessel of a kind: the next free tag, and size and wood as registered last."""
    there = sorted((standing.vessel for standing in cellar if standing.vessel.kind == kind), key=lambda v: v.id)
    if not there:
        return {"kind": kind}
    last = there[-1]
    wood = (last.barrel.wood if last.barrel is not None else None) or ""
    capacity = show_exact(last.capacity_ml, units)
    return {"kind": kind, "tag": _next_free(cellar, last.tag), "capacity": capacity, "wood": wood}


def _next_free(cellar: Cellar, last: str) -> str:
    """Return the tag after the highest of its series; "" where tags are not numbered."""
    pattern = _NUMBERED.fullmatch(last)
    if pattern is None:
        return ""
    letters, digits = pattern[1], len(pattern[2])
    numbers = [
        int(found[2])
        for standing in cellar
        if (found := _NUMBERED.fullmatch(standing.tag)) and found[1].upper() == letters.upper()
    ]
    return f"{letters}{max(numbers) + 1:0{digits}}"


def vessels_words(vessels: Sequence[Vessel], units: Units = DEFAULT) -> str:
    """Return in a line what would be registered: which, how many, how large, and where they lie."""
    first, last = vessels[0], vessels[-1]
    size = show(Quantity.VOLUME, first.capacity_ml, units)
    wood = (first.barrel.wood if first.barrel is not None else None) or ""
    about = ", ".join(part for part in (first.kind, wood, _where(vessels)) if part)
    if len(vessels) == 1:
        return f"{first.tag}, {size}, {about}"
    whole = show(Quantity.VOLUME, sum(vessel.capacity_ml for vessel in vessels), units)
    return f"{counted(len(vessels), 'vessel')}, {first.tag} to {last.tag}, {size} each, {whole} in all: {about}"


def _where(vessels: Sequence[Vessel]) -> str:
    room, row, bay, tier = vessels[0].position
    last_bay = vessels[-1].position[2]
    bays = f"bay {bay}" if bay == last_bay else f"bays {bay} to {last_bay}"
    return " ".join(
        part for part in (room or "", row or "", bays * (bay is not None), f"tier {tier}" * (tier is not None)) if part
    )
