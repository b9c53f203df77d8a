"""From the barrels to the table: the samples pulled for a flight, and the flight poured from them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Unpack

from sqlalchemy import select

from cooperage.book import Book, Standing, Writing
from cooperage.book.declared import acts
from cooperage.book.errors import VesselIsRetired
from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import ENTRY, FLIGHT, MOVE
from cooperage.tasting.flights import Flight, pour_flight
from cooperage.tasting.flights.errors import NoTasterKnown, NothingToTaste
from cooperage.tasting.flights.pouring import AskedWithCodes
from cooperage.units import Units, read_volume

FIRST_PULL_ML = 50
"""What is proposed to be pulled of each vessel before anything was pulled [mL] (common practice, no source)."""
_LOOKED_BACK = 20
"""Flights among which the last one with a sample is looked for."""


def last_pull(book: Book, hand: str = "") -> int:
    """Return what a hand pulled of each vessel for the last flight [mL], else what any hand did, else the first pull.

    Samples are written in the transaction that pours the flight, so at its time.
    """
    latest = select(FLIGHT.c.poured_at).order_by(FLIGHT.c.poured_at.desc()).limit(_LOOKED_BACK)
    pulled = (
        select(ENTRY.c.hand, MOVE.c.ml)
        .join(MOVE, MOVE.c.entry_id == ENTRY.c.id)
        .where(ENTRY.c.written_at.in_(latest), ENTRY.c.kind == acts.Sample.kind, STANDS)
        .order_by(ENTRY.c.written_at.desc(), ENTRY.c.id.desc())
    )
    with book.reading() as connection:
        found = connection.execute(pulled).all()
    return next((int(ml) for by, ml in found if by == hand), int(found[0].ml) if found else FIRST_PULL_ML)


def pull_words(ml: int) -> str:
    """Return a pull as it is typed: "50 mL"."""
    return f"{ml} mL"


def check_holds(standings: Iterable[Standing]) -> None:
    """Refuse vessels that are retired or hold nothing, as pouring does; raises VesselIsRetired, NothingToTaste."""
    there = list(standings)
    for each in there:
        if each.state.retired_at is not None:
            retired_at = datetime.fromtimestamp(each.state.retired_at, UTC)
            raise VesselIsRetired(each.tag, retired_at, each.state.retired_why)
    if empty := [each.tag for each in there if not each.ml]:
        raise NothingToTaste(empty)


def read_pull(text: str, units: Units) -> int:
    """Return how much is pulled of each vessel, in mL; a bare number is in mL, as is proposed. Raises NotAQuantity."""
    is_bare = text.rstrip()[-1:].isdigit()
    return read_volume(f"{text} mL" if is_bare else text, units)


@dataclass(frozen=True, slots=True)
class UsualFlight:
    """How a cellar pours: the scale, what is scored as `pour_flight` takes it, and who tastes."""

    scale: str = "0-20"
    attributes: tuple[str, ...] = ()
    tasters: tuple[str, ...] = ()


def usual_flight(poured: Sequence[Flight]) -> UsualFlight:
    """Return how the last flight of barrels was poured, and who tasted last; `poured` are all flights, newest first."""
    last = next((each for each in poured if any(glass.vessel for glass in each.glasses)), None)
    if last is None:
        return UsualFlight()
    scored = tuple(f"{each.name}={each.scale}" for each in last.attributes)
    tasters = next((each.panel for each in poured if each.panel), [])
    return UsualFlight(last.scale, scored, tuple(tasters))


def ask_if_none_known(tasters: Sequence[str], poured: Iterable[Flight], hands: Iterable[str]) -> None:
    """Ask back where no named taster is of an earlier panel or has written in the book; raises NoTasterKnown."""
    known = {name.casefold() for name in (*(name for each in poured for name in each.panel), *hands)}
    if tasters and not any(name.casefold() in known for name in tasters):
        raise NoTasterKnown(tasters)


def pull_flight(
    book: Book,
    tags: Sequence[str],
    each_ml: int | None,
    *,
    hand: str = "",
    sure: bool = False,
    **asked: Unpack[AskedWithCodes],
) -> Flight:
    """Write one sample of `each_ml` from every vessel (None: none is written), then pour the flight.

    Controls are pulled too; all of it is written together or not at all. Raises EmptyFlight, NothingToTaste,
    NotAScale, NoSuchTerm, and what the book refuses.
    """
    controls = asked.get("reference", ""), asked.get("control", "")
    with book.writing() as session:
        poured = pour_flight(session, tags, **asked)
        if each_ml is not None:
            tastes = (*tags, *(tag for tag in controls if tag.strip()))
            write_pulled(session, dict.fromkeys(tastes, each_ml), asked.get("name", ""), hand=hand, sure=sure)
    return poured


def write_pulled(
    session: Writing, pulled: Mapping[str, int], name: str = "", *, hand: str = "", sure: bool = False
) -> None:
    """Write a sample from every vessel [mL by tag] for a flight of such a name, in the transaction that pours it.

    A sample may take the last of a vessel, so the flight is poured first. Raises what the book refuses.
    """
    note = f"for the flight {name}" if name else "for a flight"
    for tag, each_ml in {session.registry.vessel(tag).tag: each_ml for tag, each_ml in pulled.items()}.items():
        session.write(acts.Sample(vessel=tag, volume=each_ml, hand=hand, note=note, sure=sure))
