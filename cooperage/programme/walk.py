"""A walk of the rounds: each stop done, skipped or out of reach, remembered until the walk is ended."""

from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import delete, insert, select, update

from cooperage.book import Book
from cooperage.book.models import StopRow, VesselRow, WalkRow


@dataclass(slots=True)
class Walk:
    """One walk and what became of its stops, by (tag, task)."""

    id: str
    began_at: datetime
    states: dict[tuple[str, str], str] = field(default_factory=dict)


def open_walk(book: Book) -> Walk:
    """Resume the walk that was not ended, or begin a new one."""
    with book.writing() as session:
        row = session.connection.execute(
            select(WalkRow.id, WalkRow.began_at).where(WalkRow.ended_at.is_(None)).order_by(WalkRow.id.desc())
        ).first()
        if row is None:
            walk = Walk(session.new_id(), session.now)
            session.connection.execute(insert(WalkRow), {"id": walk.id, "began_at": walk.began_at, "ended_at": None})
            return walk
        stops = session.connection.execute(
            select(VesselRow.tag, StopRow.task, StopRow.state)
            .join(VesselRow, VesselRow.id == StopRow.vessel_id)
            .where(StopRow.walk_id == row.id)
        )
        return Walk(row.id, row.began_at, {(stop.tag, stop.task): stop.state for stop in stops})


def mark(book: Book, walk: Walk, tag: str, task: str, state: str) -> None:
    """Remember what became of one stop; a later word replaces an earlier one."""
    with book.writing() as session:
        vessel_id = session.registry.vessel(tag).id
        key = {"walk_id": walk.id, "vessel_id": vessel_id, "task": task}
        session.connection.execute(
            delete(StopRow).where(StopRow.walk_id == walk.id, StopRow.vessel_id == vessel_id, StopRow.task == task)
        )
        session.connection.execute(insert(StopRow), key | {"state": state, "said_at": session.now})
    walk.states[tag, task] = state


def end_walk(book: Book, walk: Walk) -> None:
    """End the walk; the next one begins anew."""
    with book.writing() as session:
        session.connection.execute(update(WalkRow).where(WalkRow.id == walk.id).values(ended_at=session.now))
