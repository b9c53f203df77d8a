"""Trials across barrels in the database: read, written, poured for, withdrawn. Rows are only ever added."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Book, Writing
from cooperage.book.declared.allowed import LONGEST_CODE, LONGEST_TEXT, check_text
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import (
    BARREL_TRIAL,
    BARREL_TRIAL_BARREL,
    BARREL_TRIAL_FLIGHT,
    BARREL_TRIAL_WITHDRAWN,
    FLIGHT,
    VESSEL,
)
from cooperage.errors import BadInput
from cooperage.programme.compared.power import BarrelSpread
from cooperage.programme.compared.trial import (
    BarrelTrial,
    BarrelTrialWithdrawn,
    InATrialAlready,
    NoSuchBarrelTrial,
    PouredSitting,
    Sitting,
    StatedBefore,
    TrialBarrel,
    TrialTreatment,
)
from cooperage.tasting.flights.stored import coded
from cooperage.tasting.withdrawal import Withdrawal
from cooperage.units import local_day


def barrel_trials(book: Book) -> list[BarrelTrial]:
    """List every trial across barrels, newest first."""
    with book.reading() as connection:
        return trials_in(connection)


def trials_in(connection: Connection) -> list[BarrelTrial]:
    """List every trial across barrels in a transaction of the caller's, newest first."""
    rows = connection.execute(select(BARREL_TRIAL).order_by(BARREL_TRIAL.c.written_at.desc(), BARREL_TRIAL.c.id.desc()))
    found = rows.mappings().all()
    if not found:
        return []
    barrels, poured = _barrels(connection), _poured(connection)
    withdrawn = {
        row.trial_id: Withdrawal(row.why, row.hand, row.at)
        for row in connection.execute(select(BARREL_TRIAL_WITHDRAWN))
    }
    return [
        trial_of_row(dict(row), tuple(barrels[row["id"]]), tuple(poured[row["id"]]), withdrawn.get(row["id"]))
        for row in found
    ]


def _barrels(connection: Connection) -> dict[str, list[TrialBarrel]]:
    barrels: dict[str, list[TrialBarrel]] = defaultdict(list)
    query = select(BARREL_TRIAL_BARREL, VESSEL.c.tag).join(VESSEL, VESSEL.c.id == BARREL_TRIAL_BARREL.c.vessel_id)
    for row in connection.execute(query.order_by(BARREL_TRIAL_BARREL.c.place)):
        barrels[row.trial_id].append(TrialBarrel(row.tag, row.block, row.treatment))
    return barrels


def _poured(connection: Connection) -> dict[str, list[PouredSitting]]:
    poured: dict[str, list[PouredSitting]] = defaultdict(list)
    query = select(BARREL_TRIAL_FLIGHT, FLIGHT.c.code, FLIGHT.c.revealed_at).join(
        FLIGHT, FLIGHT.c.id == BARREL_TRIAL_FLIGHT.c.flight_id
    )
    for row in connection.execute(query.order_by(BARREL_TRIAL_FLIGHT.c.sitting, FLIGHT.c.code)):
        poured[row.trial_id].append(PouredSitting(row.sitting, row.code, row.revealed_at is None))
    return poured


def trial_of_row(
    row: dict[str, Any],
    barrels: tuple[TrialBarrel, ...],
    poured: tuple[PouredSitting, ...],
    withdrawn: Withdrawal | None,
) -> BarrelTrial:
    """Return the trial of a row as `trial_row` makes it; raises KeyError, TypeError, ValueError where it is none."""
    stated = dict(row["stated"])
    spread = dict(stated["spread"])
    known = BarrelSpread(
        float(spread["barrel"]),
        float(spread["score"]),
        float(spread["barrel_degrees"]),
        float(spread["score_degrees"]),
        str(spread["of"]),
    )
    power = None if stated["power"] is None else float(stated["power"])
    read: dict[str, Any] = {
        "treatments": tuple(TrialTreatment(*each) for each in row["treatments"]),
        "barrels": barrels,
        "blocked_by": tuple(row["blocked_by"]),
        "sittings": tuple(Sitting(date.fromisoformat(day), tuple(blocks)) for day, blocks in row["sittings"]),
        "tasters": tuple(row["tasters"]),
        "stated": StatedBefore(known, power, float(stated["least"])),
    }
    row = {name: value for name, value in row.items() if name != "barrels"}
    return BarrelTrial(**row | read, poured=poured, withdrawn=withdrawn)


def trial_row(trial: BarrelTrial) -> dict[str, Any]:
    """Return a trial as its row keeps it, without its barrels."""
    return {
        "id": trial.id,
        "code": trial.code,
        "question": trial.question,
        "measure": trial.measure,
        "scale": trial.scale,
        "treatments": [[each.name, each.words] for each in trial.treatments],
        "barrels": len(trial.barrels),
        "blocked_by": list(trial.blocked_by),
        "seed": trial.seed,
        "sittings": [[each.day.isoformat(), list(each.blocks)] for each in trial.sittings],
        "tasters": list(trial.tasters),
        "difference": trial.difference,
        "level": trial.level,
        "stated": asdict(trial.stated),
        "hand": trial.hand,
        "written_at": trial.written_at,
    }


def find_trial(connection: Connection, code: str) -> BarrelTrial:
    """Find a trial by its code, in any case, in a transaction of the caller's; raises NoSuchBarrelTrial."""
    every = trials_in(connection)
    if (found := coded(every, code)) is not None:
        return found
    raise NoSuchBarrelTrial(code.strip(), [each.code for each in every])


def trial_coded(book: Book, code: str) -> BarrelTrial:
    """Find a trial by its code, in any case; raises NoSuchBarrelTrial."""
    with book.reading() as connection:
        return find_trial(connection, code)


def trials_of(book: Book, tag: str) -> list[BarrelTrial]:
    """List the trials that a barrel is in and that are not over, newest first."""
    today = local_day(book.now())
    return [
        each
        for each in barrel_trials(book)
        if not each.is_over(today) and any(barrel.vessel == tag for barrel in each.barrels)
    ]


def insert_trial(session: Writing, trial: BarrelTrial) -> None:
    """Write a trial with its barrels, as it is; raises BadInput, AlreadyThere, NoSuchVessel."""
    check_trial(trial)
    connection = session.connection
    if any(each.code.casefold() == trial.code.casefold() for each in trials_in(connection)):
        raise AlreadyThere("trial", trial.code)
    connection.execute(insert(BARREL_TRIAL), trial_row(trial))
    connection.execute(
        insert(BARREL_TRIAL_BARREL),
        [
            {"trial_id": trial.id, "vessel_id": session.registry.vessel(each.vessel).id, "place": place}
            | {"block": each.block, "treatment": each.treatment}
            for place, each in enumerate(trial.barrels, 1)
        ],
    )


def check_trial(trial: BarrelTrial) -> None:
    """Refuse texts that cannot be kept, and a trial that cannot be answered.

    Raises BadInput, TooFewTrialBarrels, TreatmentsApart.
    """
    check_text(trial.code, "the trial's code", LONGEST_CODE)
    check_text(trial.hand, "the name", LONGEST_TEXT)
    if not check_text(trial.question, "the question", LONGEST_TEXT).strip():
        raise BadInput("the question is blank; write in a sentence what the trial is to find out")
    for treatment in trial.treatments:
        if not check_text(treatment.name, "a treatment's name", LONGEST_CODE).strip():
            raise BadInput("a treatment has no name; give each as name, or name=what is done")
        check_text(treatment.words, "what is done", LONGEST_TEXT)
    names = [each.name.casefold() for each in trial.treatments]
    if twice := [name for name in names if names.count(name) > 1]:
        raise BadInput(f"'{twice[0]}' names two treatments; give each its own name")
    for each in (*trial.tasters, *trial.blocked_by, *{barrel.block for barrel in trial.barrels}):
        check_text(each, "a name", LONGEST_TEXT)
    if not 0.5 <= trial.level < 1:
        raise BadInput(f"a difference cannot be {100 * trial.level:g} % sure; give a number from 50 to 99, such as 95")
    if any(not 0 <= barrel.treatment < len(trial.treatments) for barrel in trial.barrels):
        raise BadInput("a barrel has a treatment that the trial has not; number them from 0")
    blocks = {barrel.block for barrel in trial.barrels}
    if not trial.sittings or any(not blocks.issuperset(each.blocks) for each in trial.sittings):
        raise BadInput("a sitting names a block that no barrel lies in; give each sitting blocks of the trial")
    trial.layout.check()


def keep_trial(book: Book, trial: BarrelTrial) -> BarrelTrial:
    """Write a planned trial, which stands from then on; raises what `insert_trial` does, and InATrialAlready."""
    with book.writing() as session:
        _check_free(trial, trials_in(session.connection), local_day(session.now))
        insert_trial(session, replace(trial, id=session.new_id(), written_at=session.now))
        return find_trial(session.connection, trial.code)


def _check_free(trial: BarrelTrial, every: Iterable[BarrelTrial], today: date) -> None:
    own = [each.vessel for each in trial.barrels]
    for other in every:
        if not other.is_over(today):
            shared = [each.vessel for each in other.barrels if each.vessel in own]
            if shared:
                raise InATrialAlready(shared, other.code)


def mark_poured(session: Writing, trial: BarrelTrial, sitting: int, flight_id: str) -> None:
    """Write that a flight was poured for a sitting of a trial, numbered from 1."""
    row = {"flight_id": flight_id, "trial_id": trial.id, "sitting": sitting}
    session.connection.execute(insert(BARREL_TRIAL_FLIGHT), row)


def insert_withdrawal(session: Writing, trial: BarrelTrial, withdrawn: Withdrawal) -> None:
    """Write that a trial was withdrawn, as it is; raises BadInput."""
    if not check_text(withdrawn.why, "the reason", LONGEST_TEXT).strip():
        raise BadInput("the reason is blank; write in a few words why the trial is withdrawn")
    check_text(withdrawn.hand, "the name", LONGEST_TEXT)
    session.connection.execute(insert(BARREL_TRIAL_WITHDRAWN), {"trial_id": trial.id} | asdict(withdrawn))


def withdraw_trial(book: Book, code: str, why: str, *, hand: str = "") -> BarrelTrial:
    """Withdraw a trial with its reason; what was seen so far stays.

    Raises NoSuchBarrelTrial, BarrelTrialWithdrawn, BadInput.
    """
    with book.writing() as session:
        trial = find_trial(session.connection, code)
        if trial.withdrawn is not None:
            raise BarrelTrialWithdrawn(trial.code, trial.withdrawn.why)
        insert_withdrawal(session, trial, Withdrawal(why.strip(), hand, session.now))
        return find_trial(session.connection, code)
