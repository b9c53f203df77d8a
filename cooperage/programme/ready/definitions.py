"""The cellar's definitions of ready: one for all of it, others for single lots, each dated and signed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_TEXT, check_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import LOT, READINESS
from cooperage.errors import BadInput, Refused
from cooperage.programme.ready.limits import ReadyLimit, as_kept, from_kept, limits_words, parse_limits
from cooperage.units import DEFAULT, Units

CHANCE, RISK = 0.5, 0.1
"""The chance with which all limits must hold, and the risk of missing the time for it, where none is given (common
practice, no source)."""
NONE_YET = "No definition of ready yet; `cooperage ready define 'overall at least 14'`"


class NoSuchChance(BadInput):
    """A chance or a risk that is no share between nothing and certainty."""

    def __init__(self, what: str, given: float) -> None:
        super().__init__(f"{what} cannot be {given:g} %; give a number from 1 to 99, such as {what} 50")


class NothingDefined(Refused):
    """A definition is to be withdrawn where there is none."""

    def __init__(self, lot: str | None) -> None:
        of = "the cellar" if lot is None else f"lot {lot}"
        super().__init__(f"{of} has no definition of ready of its own; `cooperage ready definitions` lists them")


@dataclass(frozen=True, slots=True)
class Definition:
    """What is called ready: limits, the chance with which all must hold, the risk of missing the time for it.

    `lot` is the code of the lot it is for, None for all others. Without limits it was withdrawn.
    """

    id: str
    lot: str | None
    limits: tuple[ReadyLimit, ...]
    chance: float
    risk: float
    hand: str
    written_at: datetime

    def words(self, units: Units = DEFAULT) -> str:
        """Return its limits as text, as they are typed."""
        return limits_words(self.limits, units) if self.limits else "withdrawn"


def definitions_in(connection: Connection) -> list[Definition]:
    """List every definition that was ever written, oldest first."""
    query = select(READINESS, LOT.c.code.label("lot")).outerjoin(LOT, LOT.c.id == READINESS.c.lot_id)
    rows = connection.execute(query.order_by(READINESS.c.written_at, READINESS.c.id))
    return [
        Definition(row.id, row.lot, from_kept(row.limits), row.chance, row.risk, row.hand, row.written_at)
        for row in rows
    ]


def standing_definitions(every: Sequence[Definition], at: datetime | None = None) -> dict[str | None, Definition]:
    """Return the definitions that stand, or stood at a moment, by lot; that of the cellar has no lot."""
    latest = {each.lot: each for each in every if at is None or each.written_at <= at}
    return {lot: each for lot, each in latest.items() if each.limits}


def definition_for(lots: Mapping[str, float], standing: Mapping[str | None, Definition]) -> Definition | None:
    """Return the definition for `lots` by code, largest first: that of the first, else the cellar's."""
    largest = next(iter(lots), None)
    return standing.get(largest) or standing.get(None)


def define(
    book: Book,
    text: str,
    *,
    lot: str | None = None,
    chance: float = CHANCE,
    risk: float = RISK,
    hand: str = "",
    units: Units = DEFAULT,
) -> Definition:
    """Write a definition of ready; shares are from 0 to 1.

    Raises NotALimit, ClashingLimits, NoSuchTerm, OffTheScale, NoSuchLot, NoSuchChance.
    """
    return define_limits(book, parse_limits(text, units), lot=lot, chance=chance, risk=risk, hand=hand)


def define_limits(
    book: Book, limits: tuple[ReadyLimit, ...], *, lot: str | None, chance: float, risk: float, hand: str = ""
) -> Definition:
    """Write a definition whose limits are read already; raises as `define`, but for what reading raises."""
    _check_tasted(book, limits)
    return _write(book, limits, lot, chance, risk, hand)


def _check_tasted(book: Book, limits: Sequence[ReadyLimit]) -> None:
    """Refuse limits on what no taster here scores, or off its scale; raises NoSuchTerm, OffTheScale, NotAScale."""
    from cooperage.tasting.flights.scales import OVERALL, OffTheScale, bounds  # what only reads needs none of it
    from cooperage.tasting.flights.vocabulary import ATTRIBUTE, find_term, vocabulary

    terms = vocabulary(book, with_retired=True)
    for limit in limits:
        if not limit.is_tasted:
            continue
        usual = "" if limit.name == OVERALL else find_term(terms, ATTRIBUTE, limit.name).scale
        scale = limit.scale or usual
        if scale:
            low, high = bounds(scale)
            if not low <= limit.value <= high:
                raise OffTheScale(limit.value, scale, limit.name)


def own_definition(book: Book, lot: str | None) -> tuple[str | None, Definition | None]:
    """Return a lot's code as the book has it, and the definition that stands for that lot alone; None is the cellar's.

    Raises NoSuchLot.
    """
    with book.reading() as connection:
        code = None if lot is None else _lot_named(connection, lot)[1]
        return code, standing_definitions(definitions_in(connection)).get(code)


def withdraw(book: Book, *, lot: str | None = None, hand: str = "") -> Definition:
    """Withdraw the definition of a lot, or the cellar's; raises NoSuchLot, NothingDefined."""
    code, standing = own_definition(book, lot)
    if standing is None:
        raise NothingDefined(code)
    return _write(book, (), lot, CHANCE, RISK, hand)


def _write(
    book: Book, limits: tuple[ReadyLimit, ...], lot: str | None, chance: float, risk: float, hand: str
) -> Definition:
    check_chances(chance, risk)
    check_text(hand, "the name", LONGEST_TEXT)
    with book.writing() as session:
        lot_id, code = (None, None) if lot is None else _lot_named(session.connection, lot)
        made = Definition(session.new_id(), code, limits, chance, risk, hand, session.now)
        insert_definition(session.connection, made, lot_id)
    return made


def check_chances(chance: float, risk: float) -> None:
    """Refuse shares that nothing can be judged by; raises NoSuchChance."""
    for what, share in (("chance", chance), ("risk", risk)):
        if not 0.01 <= share <= 0.99:  # NaN too
            raise NoSuchChance(what, 100 * share)


def insert_definition(connection: Connection, made: Definition, lot_id: str | None) -> None:
    """Write a definition in a transaction of the caller's."""
    row: dict[str, Any] = {"id": made.id, "lot_id": lot_id, "limits": as_kept(made.limits), "chance": made.chance}
    row |= {"risk": made.risk, "hand": made.hand, "written_at": made.written_at}
    connection.execute(insert(READINESS), row)


def _lot_named(connection: Connection, code: str) -> tuple[str, str]:
    """Return id and code of a lot, in any case; raises NoSuchLot."""
    lot = Registry(connection).lot(code)
    return lot.id, lot.code
