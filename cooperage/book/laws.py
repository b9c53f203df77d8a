"""The laws of the book, each a small named function; all run, and everything found is listed."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from cooperage.book.bottles import MAY_OWE, bottle_moves, place_words
from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.places import BottlePlace, Outside
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.errors import ID_LETTERS
from cooperage.book.filed import FILED_LAWS
from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.book.replay.events import STANDS, events
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.snapshots import replayed, snapshots_kept
from cooperage.book.replay.state import VesselState, is_of_another_form, to_text
from cooperage.book.store.guards import declared_guards, missing_guards
from cooperage.book.store.integrity import damage_in
from cooperage.book.store.readable import unreadable_in
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import (
    ANSWER,
    BOTTLE_MOVE,
    DIFFERENCE,
    ENTRY,
    FLIGHT,
    GLASS,
    MARK,
    METADATA,
    MOVE,
    OPEN_ENTRY,
    PLACE,
    PRESENTED,
    READING,
    SCORE,
    SCORED,
    SERVING,
    STATE,
)
from cooperage.book.trace import all_bottlings
from cooperage.errors import CooperageError


@dataclass(frozen=True, slots=True)
class Finding:
    """What one law found: how many things it looked at, and a line for each that breaks it."""

    law: str
    counted: int
    broken: list[str]


Law = Callable[[Connection], tuple[int, list[str]]]
MOST_SHOWN = 20
_RELATIVE = 1e-9  # floating-point room for sums over a whole book


def litres_are_conserved(connection: Connection) -> tuple[int, list[str]]:
    """The litres of all places sum to zero, and every move is between two places of the book."""
    places = set(connection.execute(select(PLACE.c.id)).scalars())
    balance = dict.fromkeys(places, 0)
    broken, counted = [], 0
    for entry_id, source, destination, ml in connection.execute(
        select(MOVE.c.entry_id, MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml)
    ):
        counted += 1
        if ml <= 0 or source == destination or not {source, destination} <= places:
            broken.append(f"entry {entry_id[:ID_LETTERS]} has a move that is none")
            continue
        balance[source] -= ml
        balance[destination] += ml
    if total := sum(balance.values()):
        broken.append(f"all places sum to {total} mL, not to zero")
    return counted, broken


def no_vessel_below_nothing_or_above_its_brim(connection: Connection) -> tuple[int, list[str]]:
    """At every entry each vessel holds between nothing and its capacity."""
    vessels = {vessel.id: vessel for vessel in Registry(connection).load()}
    held = dict.fromkeys(vessels, 0)
    broken, counted = [], 0
    for event in events(connection):
        for move in event.moves:
            for place, ml in ((move.source, -move.ml), (move.destination, move.ml)):
                if place not in held:
                    continue
                counted += 1
                held[place] += ml
                if not 0 <= held[place] <= vessels[place].capacity_ml:
                    broken.append(f"{vessels[place].tag} holds {held[place]} mL after entry {event.id[:ID_LETTERS]}")
    return counted, broken


def nothing_happens_to_a_retired_vessel(connection: Connection) -> tuple[int, list[str]]:
    """A vessel is empty when it is retired, and nothing flows in or out of it after that."""
    tags = {vessel.id: vessel.tag for vessel in Registry(connection).load()}
    retired: set[str] = set()
    broken, counted = [], 0
    for event in events(connection):
        named = {event.vessel, *(end for move in event.moves for end in (move.source, move.destination))}
        broken += [
            f"{tags[str(vessel_id)]} has entry {event.id[:ID_LETTERS]} after it was retired"
            for vessel_id in named & retired
        ]
        if event.kind == "retire" and event.vessel is not None:
            retired.add(event.vessel)
            counted += 1
    return counted, broken


def a_strike_is_the_reverse_of_what_it_strikes(connection: Connection) -> tuple[int, list[str]]:
    """Every strike writes its entry's moves the other way round, at the same moment."""
    broken, counted = [], 0
    struck = ENTRY.alias("struck")
    query = select(ENTRY.c.id, ENTRY.c.happened_at, struck.c.id, struck.c.happened_at)
    for strike, at, entry, happened_at in connection.execute(query.join(struck, struck.c.id == ENTRY.c.strikes_id)):
        counted += 1
        if at != happened_at or sorted(_moves(connection, strike)) != sorted(
            (destination, source, ml) for source, destination, ml in _moves(connection, entry)
        ):
            broken.append(f"strike {strike[:ID_LETTERS]} is not the reverse of {entry[:ID_LETTERS]}")
    return counted, broken


def _moves(connection: Connection, entry_id: str) -> list[tuple[str, str, int]]:
    query = select(MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml).where(MOVE.c.entry_id == entry_id)
    return [(source, destination, ml) for source, destination, ml in connection.execute(query)]


def every_entry_is_of_a_known_kind_and_time(connection: Connection) -> tuple[int, list[str]]:
    """Every entry is of a declared kind and was not written before it happened."""
    broken, counted = [], 0
    for entry_id, kind, happened_at, written_at in connection.execute(
        select(ENTRY.c.id, ENTRY.c.kind, ENTRY.c.happened_at, ENTRY.c.written_at)
    ):
        counted += 1
        if kind not in KINDS:
            broken.append(f"entry {entry_id[:ID_LETTERS]} is of the unknown kind '{kind}'")
        if happened_at > written_at:
            broken.append(f"entry {entry_id[:ID_LETTERS]} was written before it happened")
    return counted, broken


def every_reading_is_possible(connection: Connection) -> tuple[int, list[str]]:
    """Every reading is of a declared property and within what an instrument can show."""
    broken, counted = [], 0
    for row in connection.execute(select(READING)):
        counted += 1
        read = PROPERTIES.get(row.property)
        if read is None or not read.possible[0] <= row.value <= read.possible[1]:
            broken.append(f"entry {row.entry_id[:ID_LETTERS]} reads {row.property} {row.value}")
    return counted, broken


def dropping_the_cache_changes_nothing(connection: Connection) -> tuple[int, list[str]]:
    """The states kept, of today and of the turns of months, are to the letter what a replay from nothing gives."""
    registry = Registry(connection)
    rebuilt = {vessel_id: to_text(state) for vessel_id, state in replayed(connection, registry).items()}
    broken, counted = [], 0
    for vessel_id, kept in connection.execute(select(STATE.c.vessel_id, STATE.c.state)):
        counted += 1
        if rebuilt.get(vessel_id) != kept and not is_of_another_form(kept):
            broken.append(f"{registry.by_id(vessel_id).tag}: stored state differs from the calculated one")
    for at, group in groupby(snapshots_kept(connection), key=lambda row: row[0]):
        then = _states_before(connection, registry, at)
        for _, vessel_id, kept in group:
            counted += 1
            if then[vessel_id] != kept and not is_of_another_form(kept):
                broken.append(
                    f"{registry.by_id(vessel_id).tag}: stored snapshot differs from the calculated at {at:%Y-%m-%d}"
                )
    return counted, broken


def _states_before(connection: Connection, registry: Registry, at: datetime) -> dict[str, str]:
    states = replayed(connection, registry, before=(at, ""))
    return {vessel_id: to_text(state) for vessel_id, state in states.items()}


def ethanol_and_extract_are_conserved(connection: Connection) -> tuple[int, list[str]]:
    """Where nothing was read in between, what was received is in the vessels or went out, ethanol and extract alike."""
    registry = Registry(connection)
    outside: dict[str, Contents] = {}
    states = {vessel.id: VesselState(vessel.barrel_ml) for vessel in registry.load()}
    Replay(states.__getitem__, registry.lot_by_id, outside).run(
        replace(event, readings=[]) for event in events(connection)
    )
    broken = []
    for name in ("abv", "sugar_g_l"):
        place = PLACE_OF[name]
        held = [state.contents.amounts[place] for state in states.values()]
        parts = held + [lost.amounts[place] for lost in outside.values()]
        if abs(sum(parts)) > _RELATIVE * max(1.0, sum(abs(part) for part in parts)):
            broken.append(f"{PROPERTIES[name].label} of all places sums to {sum(parts):g}, not to zero")
    return len(states) + len(outside), broken


def trace_fractions_sum_to_one(connection: Connection) -> tuple[int, list[str]]:
    """The lots of every bottling sum to one, and so do its barrels."""
    broken = []
    traces = all_bottlings(connection)
    for traced in traces:
        for what, shares in (("lots", traced.lots), ("barrels", traced.barrels)):
            total = sum(share.fraction for share in shares)
            if abs(total - 1) > _RELATIVE:
                broken.append(f"the {what} of bottling {traced.code} sum to {total!r}")
    return len(traces), broken


def the_guards_stand(connection: Connection) -> tuple[int, list[str]]:
    """Every trigger that keeps the promises of the book is there, switched on, and as the migrations made it."""
    broken = [
        f"the guard {name} is gone, or not as it was made; `cooperage copy` makes a copy that has it"
        for name in missing_guards(connection)
    ]
    return len(declared_guards(connection)), broken


def no_entry_is_left_open(connection: Connection) -> tuple[int, list[str]]:
    """What has been written is closed: nothing can join it any more."""
    counted = connection.execute(select(func.count()).select_from(ENTRY)).scalar_one()
    left = connection.execute(select(OPEN_ENTRY.c.entry_id)).scalars()
    return counted, [
        f"entry {entry_id[:ID_LETTERS]} was written by another program, and left open" for entry_id in left
    ]


def the_file_is_whole(connection: Connection) -> tuple[int, list[str]]:
    """The database finds every page, index and constraint in order, and every row that is named is there."""
    tables = len(METADATA.sorted_tables)
    return tables, damage_in(connection)


def every_value_can_be_read(connection: Connection) -> tuple[int, list[str]]:
    """Dates are dates, numbers are numbers, and an entry has the fields of its kind."""
    return unreadable_in(connection)


def a_flight_holds_together(connection: Connection) -> tuple[int, list[str]]:
    """Every mark is of an attribute its flight scores, beside a score; every order names each glass of it once.

    The sets of a difference test name each of its glasses once, and every answer glasses of its set.
    """
    codes: dict[str, list[str]] = {}
    for flight_id, code in connection.execute(select(GLASS.c.flight_id, GLASS.c.code)):
        codes.setdefault(flight_id, []).append(code)
    named: dict[str, str] = {row.id: row.code for row in connection.execute(select(FLIGHT.c.id, FLIGHT.c.code))}
    broken = [f"flight {named.get(each)} has a mark that is none of its scores" for each in _strays(connection)]
    orders = connection.execute(select(SERVING)).all()
    broken += [
        f"the order of {row.taster} in flight {named.get(row.flight_id)} is not each glass once"
        for row in orders
        if sorted(row.glasses) != sorted(codes.get(row.flight_id, []))
    ]
    tests, missed = _tests(connection, codes)
    broken += [f"the sets of {named.get(each)} or its answers are not of its glasses" for each in missed]
    marks = connection.execute(select(func.count()).select_from(MARK)).scalar_one()
    return marks + len(orders) + tests, broken


def _tests(connection: Connection, codes: dict[str, list[str]]) -> tuple[int, list[str]]:
    """Return how many difference tests there are, and those whose sets or answers are not of their glasses."""
    tests = list(connection.execute(select(DIFFERENCE.c.flight_id)).scalars())
    stood: dict[str, list[str]] = {each: [] for each in tests}
    strays = []
    query = select(PRESENTED, ANSWER.c.codes).outerjoin(ANSWER, ANSWER.c.presented_id == PRESENTED.c.id)
    for row in connection.execute(query):
        stood.setdefault(row.flight_id, []).extend(row.glasses)
        if not set(row.codes or ()) <= set(row.glasses):
            strays.append(row.flight_id)
    strays += [each for each, given in stood.items() if sorted(given) != sorted(codes.get(each, []))]
    return len(tests), list(dict.fromkeys(strays))


def _strays(connection: Connection) -> list[str]:
    """Return the flight of each mark without a score, or of an attribute that the flight does not have."""
    scored = (SCORED.c.flight_id == GLASS.c.flight_id) & (SCORED.c.term_id == MARK.c.term_id)
    given = (SCORE.c.glass_id == MARK.c.glass_id) & (SCORE.c.taster == MARK.c.taster)
    query = select(GLASS.c.flight_id).select_from(MARK).join(GLASS, GLASS.c.id == MARK.c.glass_id)
    query = query.outerjoin(SCORED, scored).outerjoin(SCORE, given)
    return list(connection.execute(query.where(SCORED.c.term_id.is_(None) | SCORE.c.taster.is_(None))).scalars())


def no_store_has_fewer_than_no_bottles(connection: Connection) -> tuple[int, list[str]]:
    """At every entry each place holds no bottles or some of every bottling, and all that were filled are somewhere.

    No more bottles than stand in the book come from *filled*, and bottles poured back bring the litres they held.
    """
    held: dict[str, Counter[str]] = {}
    broken, counted = _strays_of_bottles(connection), 0
    for move in bottle_moves(connection):
        counted += 1
        places = held.setdefault(move.bottling_id, Counter())
        places[move.source] -= move.bottles
        places[move.destination] += move.bottles
        if places[move.source] < 0 and move.source not in MAY_OWE:
            where = place_words(move.source)
            broken.append(
                f"{move.code} has {places[move.source]} bottles '{where}' after entry {move.entry_id[:ID_LETTERS]}"
            )
    return counted, broken


def _strays_of_bottles(connection: Connection) -> list[str]:
    """Name the standing moves of bottles that were not filled by then, or whose litres are not those they held."""
    filled = {move.bottling_id: move for move in bottle_moves(connection) if move.source == BottlePlace.FILLED}
    query = select(BOTTLE_MOVE, ENTRY.c.happened_at).join(ENTRY, ENTRY.c.id == BOTTLE_MOVE.c.entry_id)
    broken = []
    for row in connection.execute(query.where(STANDS)):
        bottled = filled.get(row.bottling_id)
        is_late = bottled is None or (row.happened_at, row.entry_id) < (bottled.at, bottled.entry_id)
        if bottled is None or is_late or BottlePlace.FILLED in (row.source, row.destination):
            broken.append(f"entry {row.entry_id[:ID_LETTERS]} carries bottles that were not filled by then")
            continue
        poured = sum(ml for source, _, ml in _moves(connection, row.entry_id) if source == Outside.BOTTLED)
        if poured != (row.bottles * bottled.bottle_ml if row.destination == BottlePlace.POURED_BACK else 0):
            broken.append(f"entry {row.entry_id[:ID_LETTERS]} pours back other litres than its bottles held")
    return broken


LAWS: tuple[Law, ...] = (
    the_file_is_whole,
    every_value_can_be_read,
    litres_are_conserved,
    no_vessel_below_nothing_or_above_its_brim,
    nothing_happens_to_a_retired_vessel,
    a_strike_is_the_reverse_of_what_it_strikes,
    every_entry_is_of_a_known_kind_and_time,
    every_reading_is_possible,
    dropping_the_cache_changes_nothing,
    ethanol_and_extract_are_conserved,
    trace_fractions_sum_to_one,
    the_guards_stand,
    no_entry_is_left_open,
    a_flight_holds_together,
    no_store_has_fewer_than_no_bottles,
    *FILED_LAWS,
)

_UNEXPECTED = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, CooperageError, SQLAlchemyError)
"""The exceptions that a law may meet when a stored value was changed outside the program."""


def check(connection: Connection) -> list[Finding]:
    """Check the book against every law; a law that a damaged book prevents from being checked is broken too."""
    return [_held(law, connection) for law in LAWS]


def _held(law: Law, connection: Connection) -> Finding:
    name = law.__name__.replace("_", " ")
    try:
        counted, broken = law(connection)
    except DBAPIError as error:
        if connection.dialect.name != "sqlite":
            raise
        return Finding(name, 0, [f"cannot be held, the file is damaged: {error.orig}"])
    except _UNEXPECTED as error:
        return Finding(name, 0, [f"cannot be held, something in the book is not as it was written: {error!r}"])
    return Finding(name, counted, broken[:MOST_SHOWN])
