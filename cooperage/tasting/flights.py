"""Flights: samples tasted together, blind-coded, scored alone, revealed at the end."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, delete, insert, select, update

from cooperage.book import Book
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import FLIGHT, GLASS, SCORE, VESSEL
from cooperage.errors import BadInput, Refused, did_you_mean
from cooperage.tasting.kept import check_flight, check_glass, check_score
from cooperage.tasting.panel import PanelSummary, summarise
from cooperage.tasting.tasters import TasterResult, tasters_of

if TYPE_CHECKING:
    from cooperage.book import Writing


class NoSuchFlight(BadInput):
    """A flight code that is not in the book."""

    def __init__(self, code: str, known: Iterable[str] = ()) -> None:
        self.code = code
        hint = did_you_mean(code, known, "; `cooperage taste flights` lists them")
        super().__init__(f"there is no flight '{code}'{hint}")


class NoSuchGlass(BadInput):
    """A glass code that is not in the flight."""

    def __init__(self, code: str, codes: Iterable[str]) -> None:
        self.code = code
        super().__init__(f"there is no glass '{code}' in this flight; its glasses are {', '.join(codes)}")


class OffTheScale(BadInput):
    """A score that the flight's scale does not have."""

    def __init__(self, value: float, scale: str) -> None:
        self.value, self.scale = value, scale
        super().__init__(f"{value:g} is not on the scale {scale}; give a score from {scale.replace('-', ' to ')}")


class NotAScale(BadInput):
    """A scale that is no pair of numbers."""

    def __init__(self, scale: str) -> None:
        self.scale = scale
        super().__init__(f"'{scale}' is not a scale; give the lowest and the highest score, such as 0-20")


class EmptyFlight(BadInput):
    """A flight without glasses."""

    def __init__(self) -> None:
        super().__init__("a flight needs at least one sample; name the vessels")


class StillBlind(Refused):
    """Results of a flight whose codes have not been lifted: nothing that could sway a taster is shown."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} is still blind; once all have scored, `cooperage taste reveal {code}`")


class AlreadyRevealed(Refused):
    """A score for a flight whose codes have been lifted."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} has been revealed, so its scores stand; pour a new flight")


@dataclass(frozen=True, slots=True)
class Glass:
    """One glass: its blind code, its place in the pour, and what is in it (shown only when revealed)."""

    id: str
    code: str
    position: int
    vessel: str | None
    what: str = ""

    @property
    def called(self) -> str:
        """Its vessel; or what a glass from the bench is called, without millilitres (see `blending.pour.glass`)."""
        return self.vessel or self.what.partition(": ")[0]


@dataclass(frozen=True, slots=True)
class Score:
    """What one taster gave one glass; no value means words only."""

    value: float | None
    words: str = ""


@dataclass(slots=True)
class Flight:
    """Samples tasted together; `scores` by (glass code, taster)."""

    id: str
    code: str
    name: str
    scale: str
    poured_at: datetime
    revealed_at: datetime | None
    glasses: list[Glass] = field(default_factory=list)
    scores: dict[tuple[str, str], Score] = field(default_factory=dict)

    @property
    def is_blind(self) -> bool:
        """Return True if the codes have not been lifted yet."""
        return self.revealed_at is None

    @property
    def tasters(self) -> list[str]:
        """Everyone who has scored a glass, by name."""
        return sorted({taster for _, taster in self.scores})

    def glass(self, code: str) -> Glass:
        """Find a glass by its blind code; raises NoSuchGlass."""
        for glass in self.glasses:
            if glass.code == code.strip():
                return glass
        raise NoSuchGlass(code, (glass.code for glass in self.glasses))


@dataclass(frozen=True, slots=True)
class GlassResult:
    """How the panel saw one glass: mean, mean adjusted for who tasted, standard error, number of scores, words.

    `band` are the points on each side of the adjusted mean that hold the true one 90 times in 100; NaN if not known.
    """

    glass: Glass
    mean: float
    adjusted: float
    standard_error: float
    tasted: int
    words: list[str]
    band: float

    @property
    def most_said(self) -> str:
        """What most tasters said of it; of words said as often, those given first."""
        return max(self.words, key=self.words.count, default="")


@dataclass(frozen=True, slots=True)
class Results:
    """A flight's results, best glass first, and what so small a panel can and cannot show."""

    rows: list[GlassResult]
    words: list[str]
    summary: PanelSummary
    tasters: list[TasterResult]


def bounds(scale: str) -> tuple[float, float]:
    """Return the lowest and highest score of a scale such as "0-20"; raises NotAScale."""
    low, _, high = scale.partition("-")
    try:
        ends = float(low), float(high)
    except ValueError:
        raise NotAScale(scale) from None
    if ends[0] >= ends[1]:
        raise NotAScale(scale)
    return ends


def share_of_scale(value: float, scale: str) -> float:
    """Return how far up a scale a score stands: 0 at its lowest, 1 at its highest; off the scale it is cut there."""
    low, high = bounds(scale)
    return min(max((value - low) / (high - low), 0.0), 1.0)


def start_flight(
    book: Book,
    samples: Sequence[str],
    *,
    code: str = "",
    name: str = "",
    scale: str = "0-20",
    hidden_duplicate: bool = False,
    trials: Mapping[str, str] | None = None,
    rng: np.random.Generator | None = None,
) -> Flight:
    """Pour a flight: one blind-coded glass for each sampled vessel, in random order.

    A hidden duplicate pours one sample twice, to check each taster's repeatability. `trials` are bench glasses, by the
    blind code they bear already: what is in each. Nothing is moved in the book; samples are pulled with
    `acts.Sample`. Raises EmptyFlight, NotAScale, NoSuchVessel, AlreadyThere.
    """
    with book.writing() as session:
        return pour_flight(
            session,
            samples,
            code=code,
            name=name,
            scale=scale,
            hidden_duplicate=hidden_duplicate,
            trials=trials,
            rng=rng,
        )


def pour_flight(
    session: "Writing",
    samples: Sequence[str],
    *,
    code: str = "",
    name: str = "",
    scale: str = "0-20",
    hidden_duplicate: bool = False,
    trials: Mapping[str, str] | None = None,
    rng: np.random.Generator | None = None,
) -> Flight:
    """Pour a flight as `start_flight` does, in a transaction that writes more than it, such as its samples."""
    trials = trials or {}
    if not samples and not trials:
        raise EmptyFlight
    bounds(scale)
    check_flight(code.strip(), name)
    rng = rng or np.random.default_rng()
    vessels = [session.registry.vessel(tag) for tag in samples]
    if hidden_duplicate and vessels:
        vessels.append(vessels[int(rng.integers(len(vessels)))])
    code = code.strip() or _next_code(session.connection, session.now)
    if session.connection.execute(select(FLIGHT.c.id).where(FLIGHT.c.code == code)).first():
        raise AlreadyThere("flight", code)
    flight = Flight(session.new_id(), code, name, scale, session.now, None)
    blind = _codes(len(vessels), trials, rng)
    contents: list[tuple[str, str | None, str]] = [
        *((given, vessel.tag, "") for given, vessel in zip(blind, vessels, strict=True)),
        *((given, None, what) for given, what in trials.items()),
    ]
    flight.glasses = [
        Glass(session.new_id(), contents[place][0], position, *contents[place][1:])
        for position, place in enumerate(rng.permutation(len(contents)), 1)
    ]
    _insert_flight(session.connection, flight, {vessel.tag: vessel.id for vessel in vessels})
    return flight


def _codes(count: int, taken: Collection[str], rng: np.random.Generator) -> list[str]:
    """Return blind codes that no glass bears yet."""
    from cooperage.tasting.codes import blind_codes

    return [code for code in blind_codes(count + len(taken), rng) if code not in taken][:count]


def _insert_flight(connection: Connection, poured: Flight, ids: Mapping[str, str]) -> None:
    for glass in poured.glasses:
        check_glass(glass.code, glass.what)
    row = {"id": poured.id, "code": poured.code, "name": poured.name, "scale": poured.scale}
    connection.execute(insert(FLIGHT), row | {"poured_at": poured.poured_at})
    rows = [
        {"id": glass.id, "flight_id": poured.id, "code": glass.code, "position": glass.position, "what": glass.what}
        | {"vessel_id": None if glass.vessel is None else ids[glass.vessel]}
        for glass in poured.glasses
    ]
    connection.execute(insert(GLASS), rows)


def _next_code(connection: Connection, now: datetime) -> str:
    day = f"F{now:%y%m%d}"
    taken = set(connection.execute(select(FLIGHT.c.code).where(FLIGHT.c.code.startswith(day))).scalars())
    return next(code for n in range(1, len(taken) + 2) if (code := f"{day}-{n}") not in taken)


def flights(book: Book) -> list[Flight]:
    """List every flight, newest first, with its glasses and scores."""
    with book.reading() as connection:
        return _load(connection)


def flight(book: Book, code: str) -> Flight:
    """Find one flight by its code, in any case; raises NoSuchFlight."""
    with book.reading() as connection:
        return _find(connection, code)


def _find(connection: Connection, code: str) -> Flight:
    wanted = code.strip().upper()
    there = _load(connection)
    for found in there:
        if found.code.upper() == wanted:
            return found
    raise NoSuchFlight(code, [each.code for each in there])


def _load(connection: Connection) -> list[Flight]:
    found = {
        row.id: Flight(row.id, row.code, row.name, row.scale, row.poured_at, row.revealed_at)
        for row in connection.execute(select(FLIGHT).order_by(FLIGHT.c.poured_at.desc(), FLIGHT.c.id.desc()))
    }
    glasses = select(GLASS, VESSEL.c.tag).outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)
    owner: dict[str, tuple[Flight, str]] = {}
    for row in connection.execute(glasses.order_by(GLASS.c.flight_id, GLASS.c.position)):
        found[row.flight_id].glasses.append(Glass(row.id, row.code, row.position, row.tag, row.what))
        owner[row.id] = found[row.flight_id], row.code
    for row in connection.execute(select(SCORE)):
        poured, code = owner[row.glass_id]
        poured.scores[code, row.taster] = Score(row.value, row.words)
    return list(found.values())


def score(book: Book, flight_code: str, glass_code: str, taster: str, value: float | None, words: str = "") -> None:
    """Write (or rewrite, until the flight is revealed) what a taster gave a glass.

    Raises NoSuchFlight, NoSuchGlass, OffTheScale, AlreadyRevealed.
    """
    with book.writing() as session:
        poured = _find(session.connection, flight_code)
        glass = poured.glass(glass_code)
        if poured.revealed_at is not None:
            raise AlreadyRevealed(poured.code)
        low, high = bounds(poured.scale)
        if value is not None and not low <= value <= high:
            raise OffTheScale(value, poured.scale)
        key = {"glass_id": glass.id, "taster": taster.strip()}
        check_score(key["taster"], words)
        session.connection.execute(delete(SCORE).where(SCORE.c.glass_id == glass.id, SCORE.c.taster == key["taster"]))
        row = key | {"value": value, "words": words, "written_at": session.now}
        session.connection.execute(insert(SCORE), row)


def reveal(book: Book, flight_code: str) -> Flight:
    """Lift the codes; from then on the scores stand."""
    with book.writing() as session:
        poured = _find(session.connection, flight_code)
        if poured.revealed_at is None:
            poured.revealed_at = session.now
            revealed = update(FLIGHT).where(FLIGHT.c.id == poured.id)
            session.connection.execute(revealed.values(revealed_at=session.now))
    return poured


def score_table_of(poured: Flight) -> NDArray[np.float64]:
    """Return the scores of shape (glasses, tasters), glasses as poured; NaN for one not given. Raises StillBlind."""
    if poured.is_blind:
        raise StillBlind(poured.code)
    tasters, blank = scorers(poured), Score(None)
    scores = [[_number(poured.scores.get((glass.code, name), blank)) for name in tasters] for glass in poured.glasses]
    return np.array(scores, dtype=float).reshape(len(poured.glasses), len(tasters))


def scorers(poured: Flight) -> list[str]:
    """Return everyone who gave a glass a number, by name."""
    return sorted({taster for (_, taster), given in poured.scores.items() if given.value is not None})


def results(poured: Flight) -> Results | None:
    """Summarise a revealed flight's scores; None where no number was given. Raises StillBlind."""
    table, tasters = score_table_of(poured), scorers(poured)
    if not table.size:
        return None
    low, high = bounds(poured.scale)
    summary = summarise(table, duplicates=_duplicates(poured.glasses), width=high - low)
    rows = [
        GlassResult(
            glass,
            float(summary.mean[place]),
            float(summary.adjusted[place]),
            float(summary.standard_error[place]),
            int(summary.tasted[place]),
            [given.words for (code, _), given in sorted(poured.scores.items()) if code == glass.code and given.words],
            float(summary.band[place]),
        )
        for place, glass in enumerate(poured.glasses)
    ]
    rows.sort(key=lambda row: (np.isnan(row.adjusted), -row.adjusted, row.glass.position))
    return Results(rows, list(summary.words), summary, tasters_of(tasters, table, summary))


def _number(given: Score) -> float:
    return float("nan") if given.value is None else given.value


def _duplicates(glasses: Sequence[Glass]) -> list[tuple[int, int]]:
    places: dict[str, list[int]] = defaultdict(list)
    for place, glass in enumerate(glasses):
        if glass.vessel is not None:
            places[glass.vessel].append(place)
    return [(found[0], found[1]) for found in places.values() if len(found) > 1]
