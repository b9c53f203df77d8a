"""The cellar book: open it, write acts into it, ask it how the cellar stands."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, func, select

from cooperage.book.cellar import Cellar, Standing
from cooperage.book.errors import DamagedBook
from cooperage.book.lots import lots_as_known
from cooperage.book.replay.latest import LatestStates
from cooperage.book.store import engine
from cooperage.book.store.identity import IdMaker
from cooperage.book.store.naming import cellar_name, cellar_url, file_of
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import CELLAR, ENTRY, FLIGHT, GLASS, LOT, PRICE, SCORE, UPKEEP, VESSEL
from cooperage.book.writing.moment import moment_of_writing
from cooperage.errors import CooperageError

if TYPE_CHECKING:  # each is imported by the one method that needs it: most commands only ask how the cellar stands
    from cooperage.book.declared.acts import Act
    from cooperage.book.laws import Finding
    from cooperage.book.replay.snapshots import StatesById
    from cooperage.book.trace import Trace
    from cooperage.book.writing.write import Writing, Written

_NEWEST = select(func.max(ENTRY.c.id))
_CURRENCY = select(CELLAR.c.value).where(CELLAR.c.key == "currency")
_CHANGED = (
    select(func.count(), func.max(VESSEL.c.id)).select_from(VESSEL),
    select(func.count(), func.max(LOT.c.id)).select_from(LOT),
    select(UPKEEP).order_by(UPKEEP.c.vessel_id),
    select(CELLAR).order_by(CELLAR.c.key),
    select(func.count(), func.max(PRICE.c.id)).select_from(PRICE),
)
"""What changes without an entry: vessels, lots, prices are only ever added; intervals, limits, facts may be changed."""
_SCORED = (
    select(GLASS.c.vessel_id, func.max(FLIGHT.c.poured_at))
    .join(FLIGHT, FLIGHT.c.id == GLASS.c.flight_id)
    .join(SCORE, SCORE.c.glass_id == GLASS.c.id)
    .where(GLASS.c.vessel_id.is_not(None))
    .group_by(GLASS.c.vessel_id)
)
"""When each vessel was poured last in a flight whose scores it has; of revealed ones, once that is asked for."""
ChangeMark = tuple[str | int, ...]
"""What is equal as long as the book has not changed."""
Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """Return the present moment."""
    return datetime.now(UTC)


class Book:
    """One cellar's book, on one engine and one clock."""

    def __init__(self, opened: Engine, now: Clock = utc_now) -> None:
        self._engine = opened
        self.now = now
        self._make_id = IdMaker()
        self._latest = LatestStates()

    @classmethod
    def open(cls, place: str, now: Clock = utc_now) -> "Book":
        """Open the cellar at a path or URL; raises CellarUnusable."""
        return cls(engine.open_cellar(cellar_url(place)), now)

    @classmethod
    def create(cls, place: str, now: Clock = utc_now) -> "Book":
        """Make a new cellar at a path or URL; raises CellarUnusable."""
        return cls(engine.create(cellar_url(place)), now)

    @staticmethod
    def counts_as_new(place: str) -> bool:
        """Return True if no book has been begun at a path or URL yet; raises CellarUnusable."""
        return engine.counts_as_new(cellar_url(place))

    def close(self) -> None:
        """Close the database."""
        self._engine.dispose()

    @property
    def name(self) -> str:
        """The path or address of the cellar."""
        return cellar_name(self._engine.url)

    @property
    def file(self) -> Path | None:
        """The cellar's file; None where it is on a server."""
        return file_of(self._engine.url)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a connection on one consistent view."""
        with engine.reading(self._engine) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator["Writing"]:
        """Open one transaction for many acts: all of them are written, or none. Raises ClockBehind."""
        from cooperage.book.writing.write import Writing

        with engine.writing(self._engine) as connection:
            session = Writing(connection, moment_of_writing(connection, self.now()), self._make_id)
            yield session
            session.finish()

    def write(self, act: "Act") -> "Written":
        """Write one act; raises the rule of the book it breaks, and then nothing is written."""
        with self.writing() as session:
            return session.write(act)

    def cellar(self, at: datetime | None = None) -> Cellar:
        """Return the state of the cellar, now or at a past time."""
        with self.reading() as connection:
            return self.cellar_in(connection, at)

    def cellar_in(self, connection: Connection, at: datetime | None = None) -> Cellar:
        """Return the state of the cellar as a view that is open sees it, now or at a past time."""
        moment, registry = at or self.now(), Registry(connection)
        if at is None:
            states, mark = self._latest.read(connection, registry)
        else:
            from cooperage.book.replay.snapshots import replay_to

            states, mark = replay_to(connection, registry, until=at), ""
        return _standing(connection, registry, states, moment, mark)

    def cellars_in(self, connection: Connection, moments: Sequence[datetime]) -> Iterator[Cellar]:
        """Yield the state of the cellar at past times, in order of time, by one replay; each is good until the next."""
        from cooperage.book.replay.snapshots import replay_through

        registry = Registry(connection)
        for moment, states in zip(moments, replay_through(connection, registry, moments), strict=True):
            yield _standing(connection, registry, states, moment)

    def currency(self) -> str:
        """Return the code of the currency in which the cellar counts; empty where it has given none."""
        with self.reading() as connection:
            return str(connection.execute(_CURRENCY).scalar() or "")

    def newest_id(self) -> str:
        """Return the id of the newest entry, "" without any; it changes when an entry is written, here or elsewhere."""
        with self.reading() as connection:
            return connection.execute(_NEWEST).scalar() or ""

    def change_mark(self) -> ChangeMark:
        """Return what changes with an entry, with who is in the cellar, its care and its facts, and with a restore.

        Equal marks of one program are of one state of the book; it is asked every few seconds, so it reads no states.
        """
        with self.reading() as connection:
            newest = connection.execute(_NEWEST).scalar() or ""
            is_file = connection.dialect.name == "sqlite"
            restored = connection.exec_driver_sql("PRAGMA schema_version").scalar() if is_file else 0
            plans = tuple(hash(tuple(map(tuple, connection.execute(each)))) for each in _CHANGED)
            return newest, int(restored or 0), *plans

    def trace(self, code: str) -> "Trace":
        """Trace a bottling, lot or vessel; raises NothingToTrace."""
        from cooperage.book.trace import trace

        with self.reading() as connection:
            return trace(connection, code)

    def check(self) -> list["Finding"]:
        """Check the book against its laws."""
        from cooperage.book.laws import check

        with self.reading() as connection:
            return check(connection)

    def explained(self) -> CooperageError | None:
        """Return what explains a fault of the program: a damaged book. None when it is in order, and the fault ours."""
        try:
            broken = [line for finding in self.check() for line in finding.broken]
        except CooperageError as error:
            return error
        except Exception:  # noqa: BLE001 - a second fault explains nothing; the first one is raised
            return None
        return DamagedBook(self.name, broken[0]) if broken else None


def _standing(
    connection: Connection, registry: Registry, states: "StatesById", moment: datetime, mark: str = ""
) -> Cellar:
    lots = lots_as_known(connection, registry.lots, moment)
    standings = {v.id: Standing(v, states[v.id], moment, lots) for v in registry.load()}
    for vessel_id, scored_at in connection.execute(_SCORED.where(FLIGHT.c.revealed_at <= moment)):
        standings[vessel_id].scored_at = scored_at
    for standing in standings.values():
        judged = standing.state.judged
        if judged is not None and judged.carried_from:
            standing.carried_from = standings[judged.carried_from].tag
    return Cellar(list(standings.values()), lots, moment, mark)
