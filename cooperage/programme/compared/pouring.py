"""The next planned flight of a trial is poured: blind, by the same tasters, and marked as the trial's own."""

from sqlalchemy import Connection, select

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_CODE
from cooperage.book.store.tables import FLIGHT
from cooperage.programme.compared.kept import find_trial, mark_poured
from cooperage.programme.compared.trial import BarrelTrial, BarrelTrialWithdrawn, NothingLeftToPour
from cooperage.tasting.flights.pouring import pour_flight
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.shape import Flight
from cooperage.tasting.pulling import write_pulled

_USUAL_SCALE = "0-20"
"""That of the overall score, where the trial is about an attribute."""


def pour_sitting(
    book: Book, code: str, each_ml: int | None = None, *, hand: str = "", sure: bool = False
) -> tuple[BarrelTrial, int, Flight]:
    """Pour the first sitting of a trial for which nothing was poured; return the trial, its number, and the flight.

    A sample of `each_ml` is written of each barrel (None: none is). The flight has the trial's code with the sitting's
    number, as TOAST-1, where no other has that; nothing of it names a treatment. Raises NoSuchBarrelTrial,
    BarrelTrialWithdrawn, NothingLeftToPour, NothingToTaste, VesselIsRetired, and what the book refuses.
    """
    with book.writing() as session:
        trial = find_trial(session.connection, code)
        if trial.withdrawn is not None:
            raise BarrelTrialWithdrawn(trial.code, trial.withdrawn.why)
        if not trial.to_pour:
            raise NothingLeftToPour(trial.code, is_tasted=trial.is_tasted)
        sitting = trial.to_pour[0]
        is_overall = trial.measure == OVERALL
        poured = pour_flight(
            session,
            trial.at_sitting(sitting),
            code=_free_code(session.connection, f"{trial.code}-{sitting}"),
            name=f"trial {trial.code}, sitting {sitting} of {len(trial.sittings)}",
            attributes=() if is_overall else (f"{trial.measure}={trial.scale}",),
            tasters=trial.tasters,
            scale=trial.scale if is_overall else _USUAL_SCALE,
        )
        mark_poured(session, trial, sitting, poured.id)
        if each_ml is not None:
            write_pulled(session, dict.fromkeys(trial.at_sitting(sitting), each_ml), poured.name, hand=hand, sure=sure)
        return find_trial(session.connection, code), sitting, poured


def _free_code(connection: Connection, wanted: str) -> str:
    """Return a code if no flight has it and it is short enough; else nothing, for one that is made from the date."""
    is_taken = connection.execute(select(FLIGHT.c.id).where(FLIGHT.c.code == wanted)).first() is not None
    return "" if is_taken or len(wanted) > LONGEST_CODE else wanted
