"""A session of a trial is poured as a blind flight: nothing ties the code of a glass to its blend before the reveal."""

from collections.abc import Mapping, Sequence
from math import ceil

import numpy as np

from cooperage.blending.trials.kept import find_trial, insert_flight_of
from cooperage.blending.trials.sheet import taken_of
from cooperage.blending.trials.trial import Trial, TrialGlass, TrialWithdrawn
from cooperage.book import Book, Writing
from cooperage.errors import BadInput, Refused
from cooperage.tasting.codes import blind_codes
from cooperage.tasting.flights import Flight, Glass, pour_flight
from cooperage.tasting.pulling import write_pulled


class NoSuchSession(BadInput):
    """A session that the trial does not have."""

    def __init__(self, code: str, session: int, sessions: Sequence[int]) -> None:
        self.code, self.session = code, session
        there = "only session 1" if len(sessions) == 1 else f"sessions 1 to {len(sessions)}"
        super().__init__(f"trial {code} has no session {session}; it has {there}")


class PouredAlready(Refused):
    """A session that is a flight already."""

    def __init__(self, code: str, session: int, flight: str) -> None:
        self.code, self.session, self.flight = code, session, flight
        super().__init__(f"session {session} of trial {code} is poured as flight {flight} already; score that one")


def check_session(trial: Trial, session: int | None) -> None:
    """Refuse a session that the trial does not have; raises NoSuchSession."""
    if session is not None and session not in trial.sessions:
        raise NoSuchSession(trial.code, session, trial.sessions)


def pour_trial(
    book: Book,
    code: str,
    session: int | None = None,
    *,
    attributes: Sequence[str] = (),
    samples: bool = True,
    hand: str = "",
    sure: bool = False,
    rng: np.random.Generator | None = None,
) -> tuple[Trial, Flight]:
    """Pour a session of a trial, the next one by default; return the trial as it stands then, and the flight.

    With `samples`, what its glasses take of each vessel is written with it, to the whole mL above.

    Raises NoSuchTrial, TrialWithdrawn, NoSuchSession, PouredAlready, NothingInStock and what a flight refuses.
    """
    with book.writing() as writing:
        trial = find_trial(writing.connection, code)
        if trial.withdrawn is not None:
            raise TrialWithdrawn(trial.code, trial.withdrawn.why)
        check_session(trial, session)
        number = session or next(iter(trial.left_to_pour), trial.sessions[-1])
        if number in trial.flights:
            raise PouredAlready(trial.code, number, trial.flights[number])
        _check_there(writing, trial)
        rng = rng or np.random.default_rng()
        glasses = trial.of_session(number)
        contents = {trial.glass_name(glass): glass_contents(trial, glass) for glass in glasses}
        codes = blind_codes(len(glasses), rng)
        poured = pour_flight(
            writing,
            [],
            code=_flight_code(trial, number),
            name=f"trial {trial.code}{f', session {number}' if len(trial.sessions) > 1 else ''}",
            scale=trial.scale,
            trials=dict(zip(codes, contents.values(), strict=True)),
            attributes=attributes,
            tasters=trial.tasters,
            rng=rng,
        )
        insert_flight_of(writing, trial.id, number, poured.id)
        if samples:
            write_pulled(writing, _taken_ml(trial, glasses), poured.name, hand=hand, sure=sure)
        return find_trial(writing.connection, trial.code), poured


def _taken_ml(trial: Trial, glasses: Sequence[TrialGlass]) -> dict[str, int]:
    taken = {tag: ceil(round(ml, 6)) for tag, ml in taken_of(trial, glasses).items()}
    return {tag: ml for tag, ml in taken.items() if ml}


def glass_contents(trial: Trial, glass: TrialGlass) -> str:
    """Return what is in a glass, as every glass of the bench has it: "TR-1/3: 60 mL B-003, 60 mL B-006"."""
    parts = [f"{ml:g} mL {name}" for name, ml in zip(trial.names, glass.ml, strict=True) if ml]
    return f"{trial.glass_name(glass)}: {', '.join(parts)}"


def pour_words(glass: Glass) -> str:
    """Return what to pour into a glass, for the one who pours: "glass 417  TR-1/3: 60 mL B-003, 60 mL B-006"."""
    return f"glass {glass.code}  {glass.holds}"


def _flight_code(trial: Trial, session: int) -> str:
    return trial.code if len(trial.sessions) == 1 else f"{trial.code}-{session}"


def _check_there(writing: Writing, trial: Trial) -> None:
    """Refuse to pour what is no longer there; raises NothingInStock."""
    from cooperage.blending.trials.stocks import NothingInStock

    vessels: Mapping[str, str] = {tag: stock.name for stock in trial.stocks for tag in stock.vessels}
    for tag in vessels:
        if not writing.state_of(writing.registry.vessel(tag).id).ml:
            raise NothingInStock(tag, "is empty by now")
