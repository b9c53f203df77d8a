"""Trials in the database: listed, kept, withdrawn; nothing of one is ever changed."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.blending.trials.stocks import spans_of
from cooperage.blending.trials.trial import (
    DEGREES,
    DESIGNS,
    FEWEST_STOCKS,
    MOST_STOCKS,
    NoSuchTrial,
    Trial,
    TrialGlass,
    TrialStock,
    TrialWithdrawn,
)
from cooperage.book import Book, Writing
from cooperage.book.declared.allowed import LONGEST_CODE, LONGEST_TEXT, check_text
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import FLIGHT, TRIAL, TRIAL_FLIGHT, TRIAL_WITHDRAWN
from cooperage.errors import BadInput, Refused
from cooperage.tasting.flights.scales import scale_named
from cooperage.tasting.flights.stored import coded
from cooperage.tasting.kept import check_taster
from cooperage.tasting.withdrawal import Withdrawal


class TrialStands(Refused):
    """A trial that cannot be withdrawn any more: its scores are in."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"every session of trial {code} is revealed, so it stands; plan a new one")


def trials(book: Book) -> list[Trial]:
    """List every trial, newest first."""
    with book.reading() as connection:
        return trials_in(connection)


def trial(book: Book, code: str) -> Trial:
    """Find a trial by its code, in any case; raises NoSuchTrial."""
    with book.reading() as connection:
        return find_trial(connection, code)


def find_trial(connection: Connection, code: str) -> Trial:
    """Find a trial by its code, in any case, in a transaction of the caller's; raises NoSuchTrial."""
    there = trials_in(connection)
    if (found := coded(there, code)) is not None:
        return found
    raise NoSuchTrial(code.strip(), [each.code for each in there])


def trials_in(connection: Connection) -> list[Trial]:
    """List every trial, newest first, in a transaction of the caller's."""
    query = select(TRIAL_FLIGHT, FLIGHT.c.code, FLIGHT.c.revealed_at).join(
        FLIGHT, FLIGHT.c.id == TRIAL_FLIGHT.c.flight_id
    )
    flights: dict[str, dict[int, str]] = {}
    revealed: dict[str, set[int]] = {}
    for row in connection.execute(query.order_by(TRIAL_FLIGHT.c.session)):
        flights.setdefault(row.trial_id, {})[row.session] = row.code
        if row.revealed_at is not None:
            revealed.setdefault(row.trial_id, set()).add(row.session)
    withdrawn = {
        row.trial_id: Withdrawal(row.why, row.hand, row.written_at)
        for row in connection.execute(select(TRIAL_WITHDRAWN))
    }
    rows = connection.execute(select(TRIAL).order_by(TRIAL.c.written_at.desc(), TRIAL.c.id.desc())).mappings()
    return [
        trial_of(
            dict(row),
            flights=flights.get(row["id"], {}),
            revealed=frozenset(revealed.get(row["id"], ())),
            withdrawn=withdrawn.get(row["id"]),
        )
        for row in rows
    ]


def trial_of(row: Mapping[str, Any], **since: Any) -> Trial:  # noqa: ANN401 - what became of it
    """Return a trial from its row; `since` are its flights, those revealed, its withdrawal."""
    stocks = tuple(TrialStock(**{**each, "vessels": tuple(each["vessels"])}) for each in row["stocks"])
    glasses = tuple(
        TrialGlass(number, each["session"], tuple(each["planned"]), tuple(each["ml"]))
        for number, each in enumerate(row["glasses"], 1)
    )
    plain = {name: row[name] for name in _PLAIN}
    return Trial(**plain, stocks=stocks, glasses=glasses, tasters=tuple(row["tasters"]), **since)


_PLAIN = ("id", "code", "question", "limits", "design", "degree", "step_ml", "scale", "hand", "written_at")


def row_of(kept: Trial) -> dict[str, Any]:
    """Return a trial as the database keeps it."""
    stocks = [
        {"name": each.name, "vessels": list(each.vessels), "low": each.low, "high": each.high}
        | {"figures": dict(each.figures)}
        for each in kept.stocks
    ]
    glasses = [{"session": each.session, "planned": list(each.planned), "ml": list(each.ml)} for each in kept.glasses]
    plain = {name: getattr(kept, name) for name in _PLAIN}
    return plain | {"stocks": stocks, "glasses": glasses, "tasters": list(kept.tasters), "limits": dict(kept.limits)}


def next_code(connection: Connection) -> str:
    """Return the code of the next trial: "TR-1"."""
    taken = {code.upper() for code in connection.execute(select(TRIAL.c.code)).scalars()}
    return next(code for n in range(1, len(taken) + 2) if (code := f"TR-{n}") not in taken)


def insert_trial(session: Writing, kept: Trial) -> None:
    """Keep a trial in a transaction of the caller's; raises AlreadyThere, and BadInput for what cannot be kept."""
    check_trial(kept)
    taken = {code.upper() for code in session.connection.execute(select(TRIAL.c.code)).scalars()}
    if kept.code.upper() in taken:
        raise AlreadyThere("trial", kept.code)
    session.connection.execute(insert(TRIAL), row_of(kept))


def check_trial(kept: Trial) -> None:
    """Refuse a trial that cannot be kept: its words, its design, its glasses; raises BadInput."""
    if not check_text(kept.code, "the trial's code", LONGEST_CODE - len(_SESSION)).strip(" /:"):
        raise BadInput("the trial's code is blank; give one such as TR-1")
    if set(kept.code) & set("/:"):
        raise BadInput(f"the trial's code '{kept.code}' holds / or :, which part the names of glasses; leave them out")
    if kept.design not in DESIGNS or kept.degree not in DEGREES:
        known = f"{', '.join(DESIGNS)}, with a degree of 1, 2 or 3"
        raise BadInput(f"'{kept.design}' with degree {kept.degree} is no kind of trial; there are {known}")
    scale_named(kept.scale)
    for name in kept.tasters:
        check_taster(name)
    _check_stocks(kept)
    _check_glasses(kept)
    check_text(kept.question, "the question", LONGEST_TEXT)
    check_text(kept.hand, "the name", LONGEST_CODE)


_SESSION = "-999"


def _check_stocks(kept: Trial) -> None:
    if not FEWEST_STOCKS <= len(kept.stocks) <= MOST_STOCKS:
        raise BadInput(f"a trial blends {FEWEST_STOCKS} to {MOST_STOCKS} stocks, not {len(kept.stocks)}")
    if len({each.name for each in kept.stocks}) < len(kept.stocks):
        raise BadInput("a trial names each stock once; correct its stocks")
    limited = spans_of(kept.limits)
    for each in kept.stocks:
        if not each.vessels or not 0 <= each.low <= each.high <= 1 or not limited.keys() <= each.figures.keys():
            raise BadInput(f"{each.name} needs a vessel, bounds from 0 to 1, and a figure for each limit")


def _check_glasses(kept: Trial) -> None:
    if not kept.glasses or not 0 < kept.step_ml < float("inf"):
        raise BadInput("a trial needs glasses, and a step of the pipette above 0")
    for each in kept.glasses:
        amounts = (*each.ml, *each.planned)
        if len(each.ml) != len(kept.stocks) or len(each.planned) != len(kept.stocks) or each.session < 1:
            raise BadInput(f"glass {each.number} needs a session, and a share and millilitres of each stock")
        if not all(0 <= amount < float("inf") for amount in amounts) or not sum(each.ml) or not sum(each.planned):
            raise BadInput(f"glass {each.number} cannot hold less than nothing, or nothing at all")


def insert_flight_of(session: Writing, trial_id: str, number: int, flight_id: str) -> None:
    """Keep that a session of a trial was poured as a flight."""
    session.connection.execute(insert(TRIAL_FLIGHT), {"trial_id": trial_id, "session": number, "flight_id": flight_id})


def withdraw_trial(book: Book, code: str, why: str, *, hand: str = "") -> Trial:
    """Give a trial up, with a reason; its flights stay as they are. Raises NoSuchTrial, TrialWithdrawn, TrialStands."""
    why = why.strip()
    if not why:
        raise BadInput("why is it withdrawn? Give a reason, such as 'B-012 was bottled meanwhile'")
    check_text(why, "the reason", LONGEST_TEXT)
    check_text(hand, "the name", LONGEST_CODE)
    with book.writing() as session:
        found = find_trial(session.connection, code)
        if found.withdrawn is not None:
            raise TrialWithdrawn(found.code, found.withdrawn.why)
        if found.revealed.issuperset(found.sessions):
            raise TrialStands(found.code)
        insert_withdrawal(session, found.id, Withdrawal(why, hand, session.now))
        return find_trial(session.connection, code)


def insert_withdrawal(session: Writing, trial_id: str, made: Withdrawal) -> None:
    """Keep that a trial was given up, in a transaction of the caller's."""
    row = {"trial_id": trial_id, "why": made.why, "hand": made.hand, "written_at": made.at}
    session.connection.execute(insert(TRIAL_WITHDRAWN), row)
