"""The cellar's definitions of ready: one for all of it, others for single lots, each dated and signed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_TEXT, check_text
from cooperage.book.errors import REPEAT
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import LOT, READINESS
from cooperage.errors import AskedBack, BadInput, Refused
from cooperage.programme.ready.limits import ReadyLimit, as_kept, from_kept, limits_words, parse_limits
from cooperage.units import DEFAULT, Units

CHANCE, RISK = 0.5, 0.1
"""The chance with which all limits must hold, and the risk of missing the time for it, where none is given (common
practice, no source)."""
_LOW, _FEW_POINTS = 0.2, 20.0
"""A limit in the lowest fifth is asked about: on a scale of more points than so, and the least score overall on any
(common practice, no source)."""
_TOPS = (10, 20, 100)
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


class TermRetired(Refused):
    """A limit on an attribute that is no longer scored."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"'{name}' is retired from the vocabulary, so no panel scores it any more; "
            f"`cooperage taste words add attribute {name}` brings it back"
        )


class ScaleDoubtful(AskedBack):
    """A limit so low on the scale on which it would be that it is more likely meant on another one."""

    def __init__(self, limit: ReadyLimit, scale: str) -> None:
        self.limit, self.scale = limit, scale
        super().__init__(
            f"{limit.words()} would be on the scale {scale}, on which {limit.name} was scored last; for another write "
            f"{_on_another(limit, scale)}. Is it meant on {scale}?"
        )

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its base
        """Return the question and how to confirm it on the command line."""
        return f"{self.question(units)} {REPEAT}"


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
    sure: bool = False,
) -> Definition:
    """Write a definition of ready; shares are from 0 to 1.

    Raises NotALimit, ClashingLimits, NoSuchTerm, TermRetired, OffTheScale, NoSuchLot, NoSuchChance, and unless it is
    `sure` ScaleDoubtful.
    """
    return define_limits(book, parse_limits(text, units), lot=lot, chance=chance, risk=risk, hand=hand, sure=sure)


def define_limits(
    book: Book,
    limits: tuple[ReadyLimit, ...],
    *,
    lot: str | None,
    chance: float,
    risk: float,
    hand: str = "",
    sure: bool = False,
) -> Definition:
    """Write a definition whose limits are read already; raises as `define`, but for what reading raises."""
    _check_tasted(book, limits, sure=sure)
    return _write(book, limits, lot, chance, risk, hand)


def _check_tasted(book: Book, limits: Sequence[ReadyLimit], *, sure: bool) -> None:
    """Refuse limits on what no taster here scores, or off its scale; ask about those that seem to be of another scale.

    Raises NoSuchTerm, TermRetired, OffTheScale, NotAScale, ScaleDoubtful.
    """
    from cooperage.tasting.flights.scales import OVERALL, OffTheScale, bounds  # what only reads needs none of it
    from cooperage.tasting.flights.vocabulary import ATTRIBUTE, find_term, vocabulary

    tasted = [limit for limit in limits if limit.is_tasted]
    terms, scored_on = (vocabulary(book, with_retired=True), _last_scales(book)) if tasted else ([], {})
    for limit in tasted:
        term = None if limit.name == OVERALL else find_term(terms, ATTRIBUTE, limit.name)
        if term is not None and term.retired_at is not None:
            raise TermRetired(term.name)
        scale = limit.scale or scored_on.get(limit.name, "" if term is None else term.scale)
        if not scale:
            continue
        low, high = bounds(scale)
        if not low <= limit.value <= high:
            other = "" if limit.scale else _on_another(limit, scale)
            raise OffTheScale(limit.value, scale, limit.name, other and f", or name another scale: {other}")
        if not sure and _seems_of_another(limit, low, high):
            raise ScaleDoubtful(limit, scale)


def _seems_of_another(limit: ReadyLimit, low: float, high: float) -> bool:
    """Return True if a limit without a scale lies so low between `low` and `high` that it is hardly meant on that."""
    from cooperage.tasting.flights.scales import OVERALL

    is_least_of_all = limit.name == OVERALL and limit.sign < 0
    is_low = (limit.value - low) / (high - low) < _LOW
    return not limit.scale and is_low and (is_least_of_all or high - low > _FEW_POINTS)


def _last_scales(book: Book) -> dict[str, str]:
    """Return the scale on which each attribute, and the glass as a whole, was scored last in a revealed flight."""
    from cooperage.tasting.flights.line import asked_of, scale_of
    from cooperage.tasting.flights.stored import flights_in

    with book.reading() as connection:
        revealed = [each for each in reversed(flights_in(connection)) if each.revealed_at is not None]
    return {name: scale_of(each, name) for each in revealed for name in asked_of(each)}


def _on_another(limit: ReadyLimit, scale: str) -> str:
    """Return a limit as it is typed for a usual scale that is not this one, in quotes; empty where none has it."""
    usual = (f"0-{top}" for top in _TOPS if limit.value <= top and f"0-{top}" != scale)
    return next((f"'{replace(limit, scale=other).words()}'" for other in usual), "")


def own_definition(book: Book, lot: str | None) -> tuple[str | None, Definition | None]:
    """Return a lot's code as the book has it, and the definition that stands for that lot alone; None is the cellar's.

    Raises NoSuchLot.
    """
    with book.reading() as connection:
        code = None if lot is None else _lot_named(connection, lot)[1]
        return code, standing_definitions(definitions_in(connection)).get(code)


def what_holds(book: Book, lot: str | None) -> Definition | None:
    """Return the definition that now holds for a lot, its own or else the cellar's; None where nothing is defined."""
    with book.reading() as connection:
        standing = standing_definitions(definitions_in(connection))
    return standing.get(lot) or standing.get(None)


def holds_words(now: Definition | None, lot: str | None, units: Units = DEFAULT) -> str:
    """Return what holds for a lot, or for the cellar, after a definition was withdrawn, as text."""
    if now is not None:
        return f"What holds for {lot} now is the cellar's: {now.words(units)}."
    return f"Nothing is defined as ready for {'the cellar' if lot is None else lot} now."


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
