"""When each barrel is ready by its definition: what every door asks. Kept until the book, or the day, changes.

What is kept is read without NumPy; where nothing is defined, nothing is learned.
"""

from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cached_property
from hashlib import blake2b
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, func, select

from cooperage.book import Book, Cellar, Standing
from cooperage.book.store.tables import FLIGHT, SCORE
from cooperage.programme.kept import kept
from cooperage.programme.ready.definitions import Definition, definition_for, definitions_in, standing_definitions
from cooperage.programme.ready.limits import ReadyLimit
from cooperage.programme.ready.looks import WEEKS, PanelLook, cask_of
from cooperage.programme.upkeep.looks import FORECAST, next_look
from cooperage.units import local_day

if TYPE_CHECKING:
    from cooperage.programme.ready.chances import WindowAhead
    from cooperage.programme.ready.forecasting import CellarCurves, FigureAhead, Foreseen

NEARLY_WEEKS = 6
"""A window that begins within so many weeks is near (common practice, no source)."""
_OVER = 0.5
READY = "ready"
"""The verdict that goes before any forecast."""
_BAND = 1.2816  # standard deviations on each side that hold 80 of 100


class ReadyState(StrEnum):
    """How a barrel stands to its definition of ready, in the order in which it is listed."""

    READY = "ready now"
    NEARLY = "nearly ready"
    NOT_YET = "not yet"
    PASSED = "passed"
    QUARANTINED = "in quarantine"
    UNKNOWN = "too little history"
    UNDEFINED = "no definition"


@dataclass(frozen=True, slots=True)
class LimitNow:
    """What one thing is now that has limits: its value, the band that holds it 80 times in 100, the chance they hold.

    A value and a band in the canonical unit of the limit; scores in points of `scale`.
    """

    name: str
    scale: str
    value: float
    low: float
    high: float
    chance: float


@dataclass(frozen=True, slots=True)
class Readiness:
    """How one barrel stands to its definition of ready.

    `chance` is that all limits hold now, `weeks` the same for each of the next 52. The window `opens` and `closes`
    with the chance that is `wanted`; it `closes` on no day where it stays open as far as can be seen. `likely` is the
    middle of the day on which the limits first hold, `half` and `most` the days between which that is 50 and 80 times
    in 100; None is later than can be seen. `passed` is the chance that the time for it is over. `pull` is the day on
    which a barrel pulled is least off its window on average; None is later than can be seen. `next_look` is when to
    taste it again, as the rounds ask for it, by `look_by`: "forecast"; "verdict" where the taster gave it; "interval"
    where none of them asks for a look. `missing` is what is not known. `state_by` is "verdict" where the panel called
    it ready, whatever the limits give.
    """

    vessel: str
    lot: str
    state: ReadyState
    limits: tuple[ReadyLimit, ...] = ()
    wanted: float = 0.0
    risk: float = 0.0
    chance: float | None = None
    weeks: tuple[float, ...] = ()
    opens: date | None = None
    closes: date | None = None
    likely: date | None = None
    half: tuple[date | None, date | None] = (None, None)
    most: tuple[date | None, date | None] = (None, None)
    passed: float | None = None
    pull: date | None = None
    next_look: datetime | None = None
    look_by: str = ""
    figures: tuple[LimitNow, ...] = ()
    missing: tuple[str, ...] = ()
    state_by: str = ""

    @property
    def best_chance(self) -> float | None:
        """The highest chance within a year."""
        return max(self.weeks, default=None)


class LooksOnce:
    """What panels gave up to a moment: gathered when it is first asked for, and once."""

    def __init__(self, book: Book, until: datetime) -> None:
        self._book, self._until = book, until

    @cached_property
    def every(self) -> "list[PanelLook]":
        """All looks, oldest first."""
        from cooperage.programme.ready.tasted import panel_looks  # NumPy comes with it

        with self._book.reading() as connection:
            return panel_looks(self._book, connection, self._until)


def readiness(book: Book, cellar: Cellar, looks: LooksOnce | None = None) -> dict[str, Readiness]:
    """Return how every barrel that holds something stands to its definition, by tag; nothing where none is defined.

    `looks` are those of the book up to the moment of the cellar, where they are asked for besides.
    `cellar` may be that of a past moment: then what was defined and scored later is left out. The first time after a
    flight, a fill or a reading with a limit it takes a second or more.
    """
    with book.reading() as connection:
        standing = standing_definitions(definitions_in(connection), cellar.at)
        if not standing:
            return {}
        mark = _mark(connection, cellar, standing)
    found = kept(
        mark,
        f"ready-{local_day(cellar.at):%Y%m%d}",
        lambda: _foreseen(cellar, standing, looks or LooksOnce(book, cellar.at)),
        lambda found: [_as_kept(each) for each in found.values()],
        lambda rows: {each.vessel: each for each in map(_from_kept, rows)},
    )
    return {tag: _with_verdict(each, cellar[tag]) for tag, each in found.items()}


def _mark(connection: Connection, cellar: Cellar, defined: Mapping[str | None, Definition]) -> str:
    """Return a digest of what readiness rests on: definitions, revealed flights, fills, and readings that have limits.

    What else is written, such as toppings, leaves it as it is.
    """
    query = select(FLIGHT.c.code, FLIGHT.c.revealed_at).where(FLIGHT.c.revealed_at <= cellar.at)
    revealed = connection.execute(query.order_by(FLIGHT.c.code)).all()
    scores = connection.execute(select(func.count()).select_from(SCORE)).scalar()
    named = {limit.name for each in defined.values() for limit in each.limits}
    fills = [
        (each.vessel, each.state.filled_at, next(iter(each.lots), ""), each.fill_number, _reads(each, named))
        for each in cellar.barrels
        if each.ml
    ]
    ids = sorted(each.id for each in defined.values())
    return blake2b(f"{ids}\n{revealed}\n{scores}\n{fills}".encode(), digest_size=16).hexdigest()


def _reads(standing: Standing, named: Iterable[str]) -> list[tuple[str, float, float]]:
    reads = standing.state.reads
    return [(name, reads[name].at, reads[name].value) for name in sorted(named) if name in reads]


def _foreseen(cellar: Cellar, standing: Mapping[str | None, Definition], looks: LooksOnce) -> dict[str, Readiness]:
    from cooperage.programme.ready.forecasting import CellarCurves  # NumPy comes with it

    curves = CellarCurves(looks.every)
    found = (_of_barrel(each, definition_for(each.lots, standing), curves) for each in cellar.barrels if each.ml)
    return {each.vessel: each for each in found}


def _of_barrel(barrel: Standing, definition: Definition | None, curves: "CellarCurves") -> Readiness:
    from cooperage.programme.ready.forecasting import WantedWindow

    lot, cask = next(iter(barrel.lots), ""), cask_of(barrel)
    if definition is None or cask is None:
        return Readiness(barrel.tag, lot, ReadyState.UNDEFINED)
    wanted = WantedWindow(definition.limits, definition.chance, definition.risk)
    blank = Readiness(barrel.tag, lot, ReadyState.UNKNOWN, wanted.limits, wanted.chance, wanted.risk)
    foreseen = curves.foresee(cask, barrel.at, wanted, figures_ahead(barrel))
    if foreseen.ahead is None:
        return replace(blank, missing=foreseen.missing)
    return _dated(blank, barrel, foreseen, curves)


def figures_ahead(barrel: Standing) -> "FigureAhead":
    """Return what gives a figure of a barrel so many days ahead, with one standard deviation."""

    def figure(name: str, days: float) -> tuple[float, float] | None:
        course = barrel.course(name)
        if course is not None:
            return course.after(days)
        now = barrel.figure(name)
        return None if now.value is None else (now.value, now.uncertainty or 0.0)

    return figure


def _dated(blank: Readiness, barrel: Standing, foreseen: "Foreseen", curves: "CellarCurves") -> Readiness:
    ahead, today = foreseen.ahead, local_day(barrel.at)
    assert ahead is not None

    def day(week: int) -> date | None:
        return None if week > WEEKS else today + timedelta(weeks=week)

    (half_from, half_to), (most_from, most_to) = ahead.becomes
    return replace(
        blank,
        state=_state(ahead, is_tasted=not foreseen.untasted),
        chance=ahead.chance[0],
        weeks=ahead.chance,
        opens=None if ahead.first is None else day(ahead.first),
        closes=None if ahead.last is None or ahead.last >= WEEKS else day(ahead.last),
        likely=day(ahead.middle),
        half=(day(half_from), day(half_to)),
        most=(day(most_from), day(most_to)),
        passed=ahead.passed,
        pull=None if ahead.pull >= WEEKS else day(ahead.pull),
        next_look=barrel.at + timedelta(weeks=ahead.look),
        look_by=FORECAST,
        figures=tuple(_limits_now(blank.limits, foreseen, ahead, curves)),
        missing=(f"{', '.join(foreseen.untasted)} not scored in this fill",) if foreseen.untasted else (),
    )


def _limits_now(
    limits: Iterable[ReadyLimit], foreseen: "Foreseen", ahead: "WindowAhead", curves: "CellarCurves"
) -> Iterable[LimitNow]:
    by_name = {limit.name: limit for limit in limits}
    for (name, (value, sd)), chance in zip(foreseen.now.items(), ahead.holds_now, strict=True):
        pair = curves.pair_of(by_name[name]) if by_name[name].is_tasted else None
        yield LimitNow(name, "" if pair is None else pair[1], value, value - _BAND * sd, value + _BAND * sd, chance)


def _state(ahead: "WindowAhead", *, is_tasted: bool) -> ReadyState:
    """Return how it stands; what was not tasted in this fill is no more than nearly ready, and has not passed."""
    if ahead.first == 0 and is_tasted:
        return ReadyState.READY
    if ahead.passed >= _OVER and is_tasted:
        return ReadyState.PASSED
    return ReadyState.NEARLY if ahead.first is not None and ahead.first <= NEARLY_WEEKS else ReadyState.NOT_YET


def _with_verdict(found: Readiness, barrel: Standing) -> Readiness:
    """Return it with what was tasted and decided since: that goes before any forecast."""
    look = next_look(barrel, found.next_look)
    found = replace(found, next_look=look.at, look_by=look.by)
    if barrel.is_quarantined:
        return replace(found, state=ReadyState.QUARANTINED)
    if barrel.judged is not None and barrel.judged.decided.word == READY:
        return replace(found, state=ReadyState.READY, state_by="verdict")
    return found


def looks_due(book: Book, cellar: Cellar) -> dict[str, tuple[datetime, str]]:
    """Return when each barrel is to be tasted by its forecast, and why, by tag; nothing where none is defined.

    What the taster decided is left out: the rounds know it.
    """
    return looks_of(readiness(book, cellar))


def looks_of(found: Mapping[str, Readiness]) -> dict[str, tuple[datetime, str]]:
    """Return the looks that are due by what is known already."""
    foreseen = {tag: each for tag, each in found.items() if each.look_by == FORECAST}
    return {tag: (each.next_look, _why(each)) for tag, each in foreseen.items() if each.next_look is not None}


def _why(found: Readiness) -> str:
    """Return why a barrel is to be tasted, as text."""
    chance = f"{100 * (found.chance or 0.0):.0f} % ready today"
    if found.missing:
        return f"not scored in this fill; {chance} by barrels like it"
    return f"{chance} by its definition; next look by the forecast"


def in_turn(found: Iterable[Readiness]) -> list[Readiness]:
    """Return barrels in the order in which they are pulled: by state, then by when the window opens, then by chance."""
    states = list(ReadyState)

    def turn(each: Readiness) -> tuple[int, date, float, str]:
        return states.index(each.state), each.opens or each.likely or date.max, -(each.chance or 0.0), each.vessel

    return sorted(found, key=turn)


def _as_kept(found: Readiness) -> list[Any]:
    """Return it as JSON holds it."""
    return [_plain(value) for value in astuple(found)]


def _plain(value: Any) -> Any:  # noqa: ANN401 - JSON is any of these
    if isinstance(value, datetime | date):
        return value.isoformat()
    return [_plain(each) for each in value] if isinstance(value, tuple | list) else value


def _from_kept(row: list[Any]) -> Readiness:
    """Return it from what JSON holds; raises ValueError or TypeError where that is no such thing."""
    vessel, lot, state, limits, wanted, risk, chance, weeks, opens, closes, likely, half, most, *rest = row
    passed, pull, look, look_by, figures, missing, state_by = rest
    half_from, half_to, most_from, most_to = (_day(each) for each in (*half, *most))
    return Readiness(
        vessel,
        lot,
        ReadyState(state),
        tuple(ReadyLimit(*each) for each in limits),
        wanted,
        risk,
        chance,
        tuple(weeks),
        _day(opens),
        _day(closes),
        _day(likely),
        (half_from, half_to),
        (most_from, most_to),
        passed,
        _day(pull),
        None if look is None else datetime.fromisoformat(look),
        look_by,
        tuple(LimitNow(*each) for each in figures),
        tuple(missing),
        state_by,
    )


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)
