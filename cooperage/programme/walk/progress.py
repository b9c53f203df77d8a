"""A walk of the rounds: each task done, skipped or out of reach, remembered until the walk is ended."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from cooperage.book import Book, Writing
from cooperage.book.errors import InTheFuture
from cooperage.book.store.tables import STOP, VESSEL, WALK

TaskKey = tuple[str, str]
"""A task or an order as the walk knows it: the tag, and the task or "order 3"."""
LEFT_OUT, OUT_OF_REACH = "skipped", "out of reach"
"""What may become of a task that is not done."""

# Built once: making a statement costs more than running it.
_FORGET_STOP = delete(STOP).where(
    *(STOP.c[name] == bindparam(f"of_{name}") for name in ("walk_id", "vessel_id", "task"))
)
_KEEP_STOP = insert(STOP)
_HAS_WALK = select(WALK.c.id).where(WALK.c.id == bindparam("walk_id"))


@dataclass(slots=True)
class Walk:
    """One walk and what became of its tasks; `walked_at` is when, if it was walked on paper."""

    id: str
    began_at: datetime
    walked_at: datetime | None = None
    states: dict[TaskKey, str] = field(default_factory=dict)

    @property
    def since(self) -> datetime:
        """The moment from which what is done counts for this walk."""
        return self.walked_at or self.began_at


def open_walk(book: Book) -> Walk:
    """Resume the walk that was not ended, or begin a new one."""
    with book.writing() as session:
        row = session.connection.execute(
            select(WALK.c.id, WALK.c.began_at, WALK.c.walked_at)
            .where(WALK.c.ended_at.is_(None))
            .order_by(WALK.c.id.desc())
        ).first()
        if row is None:
            return _begin(session, Walk(session.new_id(), session.now))
        return Walk(row.id, row.began_at, row.walked_at, _states(session.connection, row.id))


def walk_under_way(book: Book) -> Walk | None:
    """Return the day's walk that was begun and not ended, a sheet being entered aside; None without one.

    Nothing is begun.
    """
    with book.reading() as connection:
        row = connection.execute(
            select(WALK.c.id, WALK.c.began_at)
            .where(WALK.c.ended_at.is_(None), WALK.c.walked_at.is_(None))
            .order_by(WALK.c.id.desc())
        ).first()
        return None if row is None else Walk(row.id, row.began_at, None, _states(connection, row.id))


def states_of(book: Book, walk: Walk) -> dict[TaskKey, str]:
    """Return what became of a walk's tasks by (tag, task), on whichever laptop it was said."""
    with book.reading() as connection:
        return _states(connection, walk.id)


def _states(connection: Connection, walk_id: str) -> dict[TaskKey, str]:
    stops = connection.execute(
        select(VESSEL.c.tag, STOP.c.task, STOP.c.state)
        .join(VESSEL, VESSEL.c.id == STOP.c.vessel_id)
        .where(STOP.c.walk_id == walk_id)
    )
    return {(stop.tag, stop.task): stop.state for stop in stops}


def begin_sheet(book: Book, walked_at: datetime) -> Walk:
    """Begin to enter a sheet that was walked on paper; a walk that is open waits until it is ended.

    Raises InTheFuture.
    """
    with book.writing() as session:
        if walked_at > session.now:
            raise InTheFuture(walked_at, session.now)
        return _begin(session, Walk(session.new_id(), session.now, walked_at))


def _begin(session: Writing, walk: Walk) -> Walk:
    row = {"id": walk.id, "began_at": walk.began_at, "ended_at": None, "walked_at": walk.walked_at}
    session.connection.execute(insert(WALK), row)
    return walk


def mark(book: Book, walk: Walk, key: TaskKey, state: str) -> None:
    """Remember what became of one task; a later word replaces an earlier one."""
    mark_all(book, walk, [key], state)


def mark_all(book: Book, walk: Walk, keys: Iterable[TaskKey], state: str) -> None:
    """Remember what became of several tasks, those of a vessel that was skipped."""
    keys = list(keys)
    with book.writing() as session:
        for key in keys:
            mark_in(session, walk, key, state)
    walk.states.update(dict.fromkeys(keys, state))


def mark_in(session: Writing, walk: Walk, key: TaskKey, state: str) -> None:
    """Write what became of a task in a transaction that is open; `walk` itself changes when that has held.

    A walk that began after the backup which was restored meanwhile goes on in the restored book.
    """
    tag, task = key
    if session.connection.execute(_HAS_WALK, {"walk_id": walk.id}).first() is None:
        _begin(session, walk)
    row = {"walk_id": walk.id, "vessel_id": session.registry.vessel(tag).id, "task": task}
    session.connection.execute(_FORGET_STOP, {f"of_{name}": value for name, value in row.items()})
    session.connection.execute(_KEEP_STOP, row | {"state": state, "said_at": session.now})


def end_walk(book: Book, walk: Walk) -> None:
    """End the walk; the next one begins afresh."""
    with book.writing() as session:
        session.connection.execute(update(WALK).where(WALK.c.id == walk.id).values(ended_at=session.now))
