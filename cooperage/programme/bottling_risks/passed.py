"""Risks of a bottling that were passed with a reason: who, when, and which figures stood. Rows are only added."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Writing
from cooperage.book.declared.allowed import LONGEST_NOTE, LONGEST_TEXT, check_text
from cooperage.book.store.tables import RISKS_PASSED
from cooperage.errors import BadInput, Refused, choose_from
from cooperage.programme.bottling_risks.risk import Risk, RiskState, risk_row


class NotARisk(BadInput):
    """A reason for something that is no risk of the list."""

    def __init__(self, name: str, found: Sequence[Risk]) -> None:
        super().__init__(f"the list has no '{name}'{choose_from(name, [each.name for each in found])}")


class NoReason(BadInput):
    """A risk is to be passed without a reason."""

    def __init__(self, name: str) -> None:
        super().__init__(f"give a reason for passing it: '{name}=filtered at 0.45 µm on 27 Nov'")


class TroubleStands(Refused):
    """A trouble for which there is no reason."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = tuple(names)
        super().__init__(f"not passed, since this stands: {', '.join(names)}; settle it, or give a reason for it too")


@dataclass(frozen=True, slots=True)
class RisksPassed:
    """A list of risks as it stood when it was passed, with the reason for each trouble.

    `asked` are sizes, label and profile; `figures` are the rows as `risk_row` gives them.
    """

    id: str
    vessels: list[str]
    asked: dict[str, Any]
    figures: list[dict[str, Any]]
    reasons: dict[str, str]
    hand: str
    written_at: datetime


def risks_passed(connection: Connection) -> list[RisksPassed]:
    """List all that was ever passed, oldest first."""
    query = select(RISKS_PASSED).order_by(RISKS_PASSED.c.written_at, RISKS_PASSED.c.id)
    return [RisksPassed(**row._mapping) for row in connection.execute(query)]


def asked_of(connection: Connection, passed_id: str) -> dict[str, Any]:
    """Return for which sizes, label and profile a list was passed; empty where there is none of that id."""
    found = connection.execute(select(RISKS_PASSED.c.asked).where(RISKS_PASSED.c.id == passed_id)).scalar()
    return dict(found or {})


def pass_in(
    session: Writing,
    vessels: Sequence[str],
    asked: Mapping[str, Any],
    found: Sequence[Risk],
    reasons: Mapping[str, str],
    *,
    hand: str = "",
) -> RisksPassed:
    """Write in a transaction of the caller's that a list was passed; each trouble needs a reason.

    Raises NotARisk, NoReason, TroubleStands.
    """
    _check_reasons(found, reasons)
    check_text(hand, "the name", LONGEST_TEXT)
    standing = [each.name for each in found if each.state is RiskState.TROUBLE and each.name not in reasons]
    if standing:
        raise TroubleStands(standing)
    rows = [risk_row(each) for each in found]
    made = RisksPassed(session.new_id(), list(vessels), dict(asked), rows, dict(reasons), hand, session.now)
    insert_passed(session.connection, made)
    return made


def _check_reasons(found: Sequence[Risk], reasons: Mapping[str, str]) -> None:
    names = {each.name for each in found}
    for name, reason in reasons.items():
        if name not in names:
            raise NotARisk(name, found)
        if not reason.strip():
            raise NoReason(name)
        check_text(reason, "the reason", LONGEST_NOTE)


def insert_passed(connection: Connection, made: RisksPassed) -> None:
    """Write a row in a transaction of the caller's."""
    connection.execute(insert(RISKS_PASSED), {name: getattr(made, name) for name in RisksPassed.__slots__})
