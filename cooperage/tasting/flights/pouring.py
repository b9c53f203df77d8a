"""A flight is poured: blind codes for samples, duplicate and controls, what is scored, an order for each taster."""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, TypedDict, Unpack

import numpy as np
from sqlalchemy import Connection, insert, select

from cooperage.book import Book
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import FLIGHT, GLASS, SCORED
from cooperage.book.writing.checks import check_not_retired
from cooperage.errors import BadInput
from cooperage.tasting.flights.errors import EmptyFlight, NothingToTaste
from cooperage.tasting.flights.orders import draw_order
from cooperage.tasting.flights.scales import scale_named
from cooperage.tasting.flights.shape import CONTROL, REFERENCE, Attribute, Flight, Glass
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, find_term, keep_term, vocabulary_in
from cooperage.tasting.kept import check_flight, check_glass

if TYPE_CHECKING:
    from cooperage.book import Writing
    from cooperage.book.store.registry import Vessel


class AskedOfFlight(TypedDict, total=False):
    """How a flight is poured: its name and scale, what is scored besides, who tastes, and which glasses are controls.

    A hidden duplicate pours one sample twice, to check each taster's repeatability. `attributes` are scored beside the
    overall score, on the scale that the vocabulary has for each or on that given: "honey", "oak=0-100 mm". Each of the
    `tasters` gets an order of their own. `reference` and `control` are tags of vessels poured as controls: one that the
    tasters know, one that is hidden.
    """

    name: str
    scale: str
    hidden_duplicate: bool
    attributes: Sequence[str]
    tasters: Sequence[str]
    reference: str
    control: str


class AskedWithCodes(AskedOfFlight, total=False):
    """The same with codes that are given: the flight's, and those that bench glasses bear already.

    `trials` are these glasses by their blind codes: what is in each. `rng` draws what is left to chance.
    """

    code: str
    trials: Mapping[str, str] | None
    rng: np.random.Generator | None


def start_flight(book: Book, samples: Sequence[str], **asked: Unpack[AskedWithCodes]) -> Flight:
    """Pour a flight: one blind-coded glass for each sampled vessel, in random order.

    Nothing is moved in the book; samples are pulled with `acts.Sample`. Raises EmptyFlight, NothingToTaste,
    VesselIsRetired, NotAScale, NoSuchVessel, NoSuchTerm, AlreadyThere.
    """
    with book.writing() as session:
        return pour_flight(session, samples, **asked)


def pour_flight(
    session: "Writing",
    samples: Sequence[str],
    *,
    code: str = "",
    name: str = "",
    scale: str = "0-20",
    hidden_duplicate: bool = False,
    trials: Mapping[str, str] | None = None,
    attributes: Sequence[str] = (),
    tasters: Sequence[str] = (),
    reference: str = "",
    control: str = "",
    rng: np.random.Generator | None = None,
) -> Flight:
    """Pour a flight as `start_flight` does, in a transaction that writes more than it, such as its samples."""
    trials = trials or {}
    if not samples and not trials:
        raise EmptyFlight
    check_flight(code.strip(), name)
    rng = rng or np.random.default_rng()
    code = new_flight_code(session.connection, code, session.now)
    flight = Flight(session.new_id(), code, name, scale_named(scale), session.now, None)
    flight.attributes = _attributes(session.connection, attributes)
    vessels = [session.registry.vessel(tag) for tag in samples]
    if hidden_duplicate and vessels:
        vessels.append(vessels[int(rng.integers(len(vessels)))])
    controls = [(session.registry.vessel(tag), role) for tag, role in _controls(reference, control)]
    check_poured(session, [*vessels, *(vessel for vessel, _ in controls)])
    blind = new_codes(len(vessels) + len(controls), trials, rng)
    contents = [
        *((vessel.tag, "", "") for vessel in vessels),
        *((vessel.tag, "", role) for vessel, role in controls),
        *((None, what, "") for what in trials.values()),
    ]
    given = [*blind, *trials]
    flight.glasses = [
        Glass(session.new_id(), given[place], position, *contents[place])
        for position, place in enumerate(rng.permutation(len(contents)), 1)
    ]
    ids = {vessel.tag: vessel.id for vessel in (*vessels, *(vessel for vessel, _ in controls))}
    _insert_flight(session.connection, flight, ids)
    for taster in tasters:
        draw_order(session, flight, taster)
    flight.named = list(flight.orders)
    return flight


def check_poured(session: "Writing", vessels: Sequence["Vessel"]) -> None:
    """Refuse vessels that are retired or hold nothing; raises VesselIsRetired, NothingToTaste."""
    check_not_retired((vessel.id for vessel in vessels), session.registry, session)
    empty = dict.fromkeys(vessel.tag for vessel in vessels if not session.state_of(vessel.id).ml)
    if empty:
        raise NothingToTaste(tuple(empty))


def _controls(reference: str, control: str) -> list[tuple[str, str]]:
    return [(tag, role) for tag, role in ((reference, REFERENCE), (control, CONTROL)) if tag.strip()]


def _attributes(connection: Connection, given: Sequence[str]) -> list[Attribute]:
    """Return what is scored, as "honey" or "oak=0-100 mm" gives it; what is used of the vocabulary is kept with it."""
    terms, chosen = vocabulary_in(connection), dict[str, Attribute]()
    for text in given:
        name, _, scale = text.partition("=")
        term = find_term(terms, ATTRIBUTE, name)
        if term.id in chosen:
            raise BadInput(f"'{term.name}' is given twice; give each attribute once")
        keep_term(connection, term)
        chosen[term.id] = Attribute(
            term.id, term.name, scale_named(scale) if scale.strip() else term.scale, term.family, term.part
        )
    return list(chosen.values())


def new_codes(count: int, taken: Collection[str], rng: np.random.Generator) -> list[str]:
    """Return blind codes that no glass bears yet."""
    from cooperage.tasting.codes import blind_codes

    return [code for code in blind_codes(count + len(taken), rng) if code not in taken][:count]


def _insert_flight(connection: Connection, poured: Flight, ids: Mapping[str, str]) -> None:
    row = {"id": poured.id, "code": poured.code, "name": poured.name, "scale": poured.scale}
    connection.execute(insert(FLIGHT), row | {"poured_at": poured.poured_at})
    insert_glasses(connection, poured.id, poured.glasses, ids)
    for place, each in enumerate(poured.attributes, 1):
        scored = {"flight_id": poured.id, "term_id": each.id, "place": place, "scale": each.scale}
        connection.execute(insert(SCORED), scored)


def insert_glasses(connection: Connection, flight_id: str, glasses: Sequence[Glass], ids: Mapping[str, str]) -> None:
    """Insert the rows of glasses; `ids` are those of their vessels, by tag."""
    for glass in glasses:
        check_glass(glass.code, glass.what)
    rows = [
        {"id": glass.id, "flight_id": flight_id, "code": glass.code, "position": glass.position, "what": glass.what}
        | {"vessel_id": None if glass.vessel is None else ids[glass.vessel], "role": glass.role}
        for glass in glasses
    ]
    connection.execute(insert(GLASS), rows)


def new_flight_code(connection: Connection, code: str, now: datetime) -> str:
    """Return the code of a new flight: as given, or the day's next. Raises AlreadyThere."""
    code = code.strip() or _next_code(connection, now)
    if connection.execute(select(FLIGHT.c.id).where(FLIGHT.c.code == code)).first():
        raise AlreadyThere("flight", code)
    return code


def _next_code(connection: Connection, now: datetime) -> str:
    day = f"F{now:%y%m%d}"
    taken = set(connection.execute(select(FLIGHT.c.code).where(FLIGHT.c.code.startswith(day))).scalars())
    return next(code for n in range(1, len(taken) + 2) if (code := f"{day}-{n}") not in taken)
