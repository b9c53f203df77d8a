"""A taster leaves a flight before the end, so that it waits for them no more; whoever scores again is back."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, delete, insert

from cooperage.book import Writing
from cooperage.book.declared.allowed import LONGEST_CODE, check_text
from cooperage.book.store.tables import DEPARTED
from cooperage.errors import BadInput, did_you_mean


class NotOfThePanel(BadInput):
    """One who would leave a flight and does not taste it."""

    def __init__(self, code: str, name: str, panel: Sequence[str]) -> None:
        self.code, self.name = code, name
        there = f"; {', '.join(panel)} taste it" if panel else ""
        super().__init__(f"{name} does not taste {code}{did_you_mean(name, panel, there)}")


def write_left(session: Writing, flight_id: str, departed: dict[str, datetime], taster: str, hand: str) -> None:
    """Write that a taster left, in a transaction of the caller's; who left before stays so."""
    if taster in departed:
        return
    check_text(hand, "the hand's name", LONGEST_CODE)
    row = {"flight_id": flight_id, "taster": taster, "hand": hand, "at": session.now}
    session.connection.execute(insert(DEPARTED), row)
    departed[taster] = session.now


def write_back(connection: Connection, flight_id: str, departed: dict[str, datetime], taster: str) -> None:
    """Take away that a taster left, in a transaction of the caller's."""
    if departed.pop(taster, None) is not None:
        left = DEPARTED.c.flight_id == flight_id, DEPARTED.c.taster == taster
        connection.execute(delete(DEPARTED).where(*left))
