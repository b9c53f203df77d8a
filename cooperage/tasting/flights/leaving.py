"""A taster leaves a flight before the end, so that it waits for them no more; who scores again, once asked, is back."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert

from cooperage.book import Writing
from cooperage.book.declared.allowed import LONGEST_CODE, check_text
from cooperage.book.errors import REPEAT
from cooperage.book.store.tables import DEPARTED
from cooperage.errors import AskedBack, BadInput, Refused, did_you_mean
from cooperage.units import show_when


class NotOfThePanel(BadInput):
    """One who would leave a flight and does not taste it."""

    def __init__(self, code: str, name: str, panel: Sequence[str]) -> None:
        self.code, self.name = code, name
        there = f"; {', '.join(panel)} taste it" if panel else ""
        super().__init__(f"{name} does not taste {code}{did_you_mean(name, panel, there)}")


class NothingWaitedFor(Refused):
    """One who would leave a flight in which nothing of theirs is to come."""

    def __init__(self, code: str, taster: str) -> None:
        self.code, self.taster = code, taster
        super().__init__(f"{code} waits for nothing of {taster}; there is nothing to leave")


class BackAfterLeaving(AskedBack):
    """Something given by one who left the flight: a slip, or they taste again."""

    def __init__(self, code: str, taster: str, at: datetime) -> None:
        self.code, self.taster, self.at = code, taster, at
        super().__init__(
            f"{taster} left {code} {show_when(at)}; this brings {taster} back, and {code} waits for the rest"
        )

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the question and how to confirm it on the command line."""
        return f"{self.question(units)}. {REPEAT}"


def check_stays_away(code: str, departed: Mapping[str, datetime], tasters: Iterable[str]) -> None:
    """Ask back what is given by tasters who left; raises BackAfterLeaving."""
    back = next((taster for taster in tasters if taster in departed), None)
    if back is not None:
        raise BackAfterLeaving(code, back, departed[back])


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
