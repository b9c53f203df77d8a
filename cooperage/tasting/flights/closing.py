"""A flight is closed: its codes are lifted, it stands, and what the panel decided becomes entries of the book.

Before that nothing is shown of it but to who looks the codes up (`peek`), and that is written.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median_low
from typing import Protocol, TypeVar

from sqlalchemy import Connection, insert, update

from cooperage.book import Book, Writing
from cooperage.book.declared import acts
from cooperage.book.declared.allowed import LONGEST_CODE, check_text
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.store.tables import FLIGHT, PEEK
from cooperage.errors import BadInput
from cooperage.tasting.flights.errors import NotInThisFlight, StillBlind
from cooperage.tasting.flights.shape import Flight, Peek
from cooperage.tasting.flights.stored import find_flight
from cooperage.units import show_when

_LEAST_TASTERS = 2
"""Tasters who must give a verdict before one is proposed: the opinion of one is not the panel's (common practice)."""


class _Closable(Protocol):
    id: str
    revealed_at: datetime | None
    revealed_by: str
    peeks: list[Peek]

    @property
    def is_blind(self) -> bool: ...
    def check_all_in(self) -> None: ...


Poured = TypeVar("Poured", bound=_Closable)
"""What is poured blind and closed: a flight that is scored, or a difference test."""
Finder = Callable[[Connection, str], Poured]
"""Finds what is poured by its code, in a transaction."""


def reveal(book: Book, flight_code: str, *, hand: str = "", sure: bool = False) -> Flight:
    """Close a flight: lift the codes; from then on all of it stands.

    Raises NoSuchFlight; NotAllIn, unless `sure`, where tasters have glasses left to score, or none is scored.
    """
    return reveal_found(book, flight_code, find_flight, hand=hand, sure=sure)


def reveal_found(book: Book, flight_code: str, find: Finder[Poured], *, hand: str = "", sure: bool = False) -> Poured:
    """Close what `find` finds, as `reveal` does; raises what it raises, and unless `sure`, what is asked back."""
    check_text(hand, "the hand's name", LONGEST_CODE)
    with book.writing() as session:
        poured = find(session.connection, flight_code)
        if not poured.is_blind:
            return poured
        if not sure:
            poured.check_all_in()
        closed = update(FLIGHT).where(FLIGHT.c.id == poured.id)
        session.connection.execute(closed.values(revealed_at=session.now, revealed_by=hand or None))
        poured.revealed_at, poured.revealed_by = session.now, hand
    return poured


def peek(book: Book, flight_code: str, *, hand: str = "") -> Flight:
    """Return a flight for a look at its codes; while it is blind, that is written. Raises NoSuchFlight."""
    return peek_found(book, flight_code, find_flight, hand=hand)


def peek_found(book: Book, flight_code: str, find: Finder[Poured], *, hand: str = "") -> Poured:
    """Return what `find` finds for a look at its codes, as `peek` does; raises what it raises."""
    check_text(hand, "the hand's name", LONGEST_CODE)
    with book.writing() as session:
        poured = find(session.connection, flight_code)
        if poured.is_blind:
            row = {"id": session.new_id(), "flight_id": poured.id, "hand": hand, "at": session.now}
            session.connection.execute(insert(PEEK), row)
            poured.peeks.append(Peek(hand, session.now))
    return poured


@dataclass(frozen=True, slots=True)
class PanelVerdict:
    """What the panel decided about a vessel: how many gave which verdict, and what more than half of them gave.

    `proposed` is None where no verdict has a majority, or only one taster gave one.
    """

    vessel: str
    votes: Mapping[str, int]
    proposed: Judgement | None

    @property
    def words(self) -> str:
        """The votes, most first: "look again 3, keep 1"."""
        return ", ".join(f"{word} {count}" for word, count in self.votes.items())


def panel_verdicts(poured: Flight) -> list[PanelVerdict]:
    """Return what the panel decided about each vessel that anybody judged, in the order poured. Raises StillBlind.

    A verdict is proposed where at least two tasters gave one and more than half of those agree; a taster who gave the
    two glasses of a hidden duplicate different verdicts agrees with none. Weeks are the middle one of those given with
    the verdict, of two the sooner.
    """
    if poured.is_blind:
        raise StillBlind(poured.code)
    vessels = dict.fromkeys(glass.vessel for glass in poured.glasses if glass.vessel is not None)
    found = [(vessel, _given_to(poured, vessel)) for vessel in vessels]
    return [PanelVerdict(vessel, _votes(given), _majority(given)) for vessel, given in found if given]


def _given_to(poured: Flight, vessel: str) -> list[tuple[str, Judgement]]:
    """List the verdicts given to a vessel's glasses, each with its taster."""
    codes = {glass.code for glass in poured.glasses if glass.vessel == vessel}
    scored = sorted(poured.scores.items())
    return [(taster, given.verdict) for (code, taster), given in scored if code in codes and given.verdict]


def _votes(given: Sequence[tuple[str, Judgement]]) -> dict[str, int]:
    return dict(Counter(judgement.word for _, judgement in given).most_common())


def _majority(given: Sequence[tuple[str, Judgement]]) -> Judgement | None:
    """Return the verdict of more than half of the tasters, of two at least; None where there is none."""
    words: dict[str, set[str]] = {}
    for taster, judgement in given:
        words.setdefault(taster, set()).add(judgement.word)
    agreed = Counter(word for each in words.values() if len(each) == 1 for word in each)
    word, votes = next(iter(agreed.most_common(1)), ("", 0))
    if len(words) < _LEAST_TASTERS or 2 * votes <= len(words):
        return None
    weeks = [each.weeks for _, each in given if each.word == word and each.weeks is not None]
    return Judgement(word, median_low(weeks) if weeks else None)


@dataclass(frozen=True, slots=True)
class WrittenVerdict:
    """A verdict of a flight that is an entry of the book now."""

    vessel: str
    decided: Judgement
    entry_id: str


class NothingDecided(BadInput):
    """No verdict to write: none was given, nor the `proposed` ones asked for, or the panel has no majority for any."""

    def __init__(self, code: str, proposed: int = 0, judged: int = 0) -> None:
        self.code = code
        why = f"no verdict of flight {code} has a majority"
        if proposed:
            has = "has" if proposed == 1 else "have"
            why = f"{proposed} of {judged} vessels of flight {code} {has} a majority verdict: --proposed writes those"
        elif not judged:
            why = f"no taster of flight {code} gave a verdict"
        super().__init__(f"{why}; {'or ' if proposed else ''}give verdicts by hand, as B-012=keep")


def judge_flight(
    book: Book,
    flight_code: str,
    decided: Mapping[str, Judgement],
    *,
    proposed: bool = False,
    hand: str = "",
    note: str = "",
) -> list[WrittenVerdict]:
    """Write what was decided about vessels of a closed flight, one entry for each, together.

    `decided` is by tag; with `proposed`, the panel's majority verdicts are written of the other vessels. Raises
    NoSuchFlight, StillBlind, NotInThisFlight, NothingDecided, and what the book refuses.
    """
    with book.writing() as session:
        poured = find_flight(session.connection, flight_code)
        found = panel_verdicts(poured)
        there = dict.fromkeys(glass.vessel for glass in poured.glasses if glass.vessel is not None)
        verdicts = {each.vessel: each.proposed for each in found if each.proposed is not None} if proposed else {}
        for tag, judgement in decided.items():
            vessel = session.registry.vessel(tag).tag
            if vessel not in there:
                raise NotInThisFlight("vessel", tag, sorted(there))
            verdicts[vessel] = judgement
        if not verdicts:
            raise NothingDecided(poured.code, sum(each.proposed is not None for each in found), len(found))
        written = [
            WrittenVerdict(vessel, judgement, _judge(session, poured, vessel, judgement, (hand, note)))
            for vessel, judgement in verdicts.items()
        ]
        if len(written) > 1:
            session.mark_together(each.entry_id for each in written)
    return written


def _judge(session: Writing, poured: Flight, vessel: str, judgement: Judgement, signed: tuple[str, str]) -> str:
    """Write the entry of a verdict; return its id. `signed` are the hand and the note."""
    verdict, weeks = judgement
    hand, note = signed
    act = acts.Judge(vessel=vessel, verdict=verdict, weeks=weeks, flight=poured.code, hand=hand, note=note)
    return session.write(act).id


def departed_words(poured: Flight) -> list[str]:
    """Return who left before the end, and how many glasses they had not scored, a line each."""
    glasses = len(poured.glasses)
    return [
        f"{taster} left before the end, {show_when(at)}; {poured.glasses_left(taster)} of {glasses} glasses not scored."
        for taster, at in poured.departed.items()
    ]


def peeked_words(peeks: Sequence[Peek]) -> list[str]:
    """Return who looked the codes up before the flight was revealed, a line each."""
    return [f"Looked up by {each.hand or 'an unnamed hand'} before closing, {show_when(each.at)}." for each in peeks]
