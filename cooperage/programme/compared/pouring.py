"""The next planned flight of a trial is poured: blind, by the same tasters, and marked as the trial's own."""

from cooperage.book import Book
from cooperage.programme.compared.kept import find_trial, mark_poured
from cooperage.programme.compared.trial import BarrelTrial, BarrelTrialWithdrawn, NothingLeftToPour
from cooperage.tasting.flights.pouring import pour_flight
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.shape import Flight

_USUAL_SCALE = "0-20"
"""That of the overall score, where the trial is about an attribute."""


def pour_sitting(book: Book, code: str, *, flight_code: str = "") -> tuple[BarrelTrial, int, Flight]:
    """Pour the first sitting of a trial for which nothing was poured; return the trial, its number, and the flight.

    Nothing of it names a treatment. Raises NoSuchBarrelTrial, BarrelTrialWithdrawn, NothingLeftToPour,
    EmptyVesselsPoured, VesselIsRetired, AlreadyThere.
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
            code=flight_code,
            name=f"trial {trial.code}, sitting {sitting} of {len(trial.sittings)}",
            attributes=() if is_overall else (f"{trial.measure}={trial.scale}",),
            tasters=trial.tasters,
            scale=trial.scale if is_overall else _USUAL_SCALE,
        )
        mark_poured(session, trial, sitting, poured.id)
        return find_trial(session.connection, code), sitting, poured
