"""The rules of the book, each an error named for the rule that was broken.

Volumes in attributes are integer millilitres; the message shows litres.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import ClassVar

from cooperage.errors import AskedBack, BadInput, Refused, did_you_mean
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_day, show_when

ID_LETTERS = 16
"""So many letters of an entry's id are shown: its millisecond and its number within that, which no other has here."""


class InVolumes(Refused):
    """A refusal about volumes; its message is in the user's unit."""

    wording: ClassVar[str]

    def __init__(self, tag: str, **volumes_ml: int) -> None:
        self.tag, self.volumes_ml = tag, volumes_ml
        super().__init__(self.words(DEFAULT))

    def words(self, units: Units) -> str:
        """Return the refusal in the user's units."""
        return self.wording.format(tag=self.tag, **_all_shown(self.volumes_ml, units))


Stated = int | str | tuple[Quantity, float]
"""What a message holds: a volume [ml], a quantity with its canonical value, or plain text."""


def _shown(values: Stated, units: Units) -> str:
    if isinstance(values, str):
        return values
    quantity, value = values if isinstance(values, tuple) else (Quantity.VOLUME, values)
    return show(quantity, value, units)


def _all_shown(figures: Mapping[str, Stated], units: Units) -> dict[str, str]:
    return {name: _shown(each, units) for name, each in figures.items()}


class NoSuchVessel(BadInput):
    """A tag that no vessel bears."""

    def __init__(self, tag: str, known: Iterable[str] = ()) -> None:
        self.tag = tag
        hint = did_you_mean(tag, known, "; `cooperage barrels` lists the tags")
        super().__init__(f"there is no vessel '{tag}'{hint}")


class NoSuchLot(BadInput):
    """A lot code that is not in the book."""

    def __init__(self, code: str, known: list[str]) -> None:
        self.code = code
        hint = f"; the lots are {', '.join(known)}" if known else "; the book holds no lots yet"
        super().__init__(f"there is no lot '{code}'{did_you_mean(code, known, hint)}")


class NoSuchEntry(BadInput):
    """An entry id that is not in the book, or that several entries share."""

    def __init__(self, entry_id: str, shared_by: Sequence[str] = ()) -> None:
        self.entry_id, self.is_shared = entry_id, bool(shared_by)
        if shared_by:
            ids = ", ".join(each[:ID_LETTERS] for each in shared_by)
            super().__init__(f"more than one entry begins with '{entry_id}'; give more of it, such as {ids}")
        else:
            super().__init__(f"there is no entry '{entry_id}'; `cooperage report book` shows the ids, or give 'last'")


class NothingToTrace(BadInput):
    """A code that is neither a bottling, a lot nor a vessel."""

    def __init__(self, code: str, known: Iterable[str] = ()) -> None:
        self.code = code
        hint = did_you_mean(code, known, "; `cooperage report bottlings` lists the bottlings")
        super().__init__(f"there is no bottling, lot or vessel '{code}'{hint}")


class NoSuchBottling(BadInput):
    """A code that is no bottling's."""

    def __init__(self, code: str, known: Iterable[str] = ()) -> None:
        self.code = code
        hint = did_you_mean(code, known, "; `cooperage report bottlings` lists the bottlings")
        super().__init__(f"there is no bottling '{code}'{hint}")


class NotAStore(BadInput):
    """A store called by the name of an outside place of bottles."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"'{name}' is where bottles go that leave the stores; give the store another name")


class SameStore(BadInput):
    """Bottles would go where they are."""

    def __init__(self, code: str, store: str) -> None:
        self.code, self.store = code, store
        super().__init__(f"these bottles of {code} are in {store} already; name another store")


class NotBottledYet(Refused):
    """Bottles went somewhere before they were filled."""

    def __init__(self, code: str, at: datetime) -> None:
        self.code, self.at = code, at
        super().__init__(f"{code} was bottled {show_when(at)}; nothing can happen to its bottles before that")


class StoreHoldsFewer(Refused):
    """More bottles (`asked`) of a bottling were to leave a place than are there; `stores` has them by store."""

    def __init__(self, code: str, place: str, asked: int, there: int, stores: Mapping[str, int]) -> None:
        self.code, self.place, self.asked, self.there = code, place, asked, there
        others = [f"{bottles} in {store or 'no named store'}" for store, bottles in stores.items() if store != place]
        hint = f"; there are {' and '.join(others)}: name the store they come from" if others else ""
        where = f"in {place}" if place else "outside the named stores"
        super().__init__(f"{code} has {counted(there, 'bottle')} {where}, so {asked} cannot leave there{hint}")


class FewerRemoved(Refused):
    """More bottles (`asked`) were to be taken back than had gone there (`there`)."""

    def __init__(self, code: str, went: str, asked: int, there: int) -> None:
        self.code, self.asked, self.there = code, asked, there
        super().__init__(f"{code} has {counted(there, 'bottle')} {went}, so {asked} cannot come back from there")


class AlreadyThere(Refused):
    """A tag, code or id that must be the only one of its kind."""

    def __init__(self, what: str, name: str) -> None:
        self.what, self.name = what, name
        super().__init__(f"{what} '{name}' is in the book already; choose another")


class SourceHoldsLess(InVolumes):
    """More was asked of a vessel (`asked`) than it holds (`there`)."""

    wording = "{tag} holds {there}; {asked} cannot come out of it"


class InQuarantine(Refused):
    """Mead in quarantine would be bottled, blended or topped with, or meet mead that is not."""

    def __init__(self, tag: str) -> None:
        self.tag = tag
        super().__init__(
            f"{tag} is in quarantine, so its mead is not bottled and meets no other; another verdict, such as 'keep', "
            "lifts that"
        )


class WouldOverflow(InVolumes):
    """More was put into a vessel (`asked`) than it has room for (`room`)."""

    wording = "{tag} has room for {room}; {asked} would run over"


class VesselIsRetired(Refused):
    """An act on a vessel after it was retired."""

    def __init__(self, tag: str, retired_at: datetime, reason: str) -> None:
        self.tag, self.retired_at, self.reason = tag, retired_at, reason
        super().__init__(f"{tag} was retired on {show_day(retired_at)} ({reason}); use another vessel")


class VesselNotEmpty(InVolumes):
    """A vessel that must be empty first still holds something (`there`)."""

    wording = "{tag} still holds {there}; rack it out or pour it away first"


class VesselIsFull(InVolumes):
    """A vessel that was to be filled up holds all it can (`there`)."""

    wording = "{tag} is full and holds {there}; nothing more goes in"


class VesselIsEmpty(Refused):
    """A vessel that must hold something for this act."""

    def __init__(self, tag: str) -> None:
        self.tag = tag
        super().__init__(f"{tag} is empty; there is nothing in it")


class NotABarrel(Refused):
    """An act that only a barrel can have."""

    def __init__(self, tag: str, kind: str) -> None:
        self.tag, self.kind = tag, kind
        super().__init__(f"{tag} is a {kind}, not a barrel; give its volume, or choose a barrel")


class InTheFuture(Refused):
    """An act dated later than now."""

    def __init__(self, happened_at: datetime, now: datetime) -> None:
        self.happened_at, self.now = happened_at, now
        super().__init__(
            f"{show_when(happened_at)} is in the future (it is {show_when(now)}); write it when it is done"
        )


class ClockBehind(Refused):
    """The clock here is behind the newest entry: what it wrote would be in the wrong order."""

    def __init__(self, now: datetime, newest: datetime) -> None:
        self.now, self.newest = now, newest
        super().__init__(
            f"this computer's clock shows {show_when(now)}, but the newest entry was written at {show_when(newest)}; "
            "set the clock (or wait) and do it again; nothing was written"
        )


class LaterEntryImpossible(Refused):
    """A late entry, or a strike, after which a later entry could not have happened.

    `line` returns the later entry in the user's units, as it is shown everywhere.
    """

    def __init__(self, tag: str, later_id: str, later_kind: str, line: Callable[[Units], str], why: str) -> None:
        self.tag, self.later_id, self.later_kind = tag, later_id, later_kind
        self._line, self._why = line, why
        super().__init__(self.words(DEFAULT))

    def words(self, units: Units) -> str:
        """Return the refusal in the user's units."""
        return (
            f"{self.tag} {self._why} at a later entry: '{self._line(units)}'; "
            f"strike that entry first (id {self.later_id[:ID_LETTERS]})"
        )


class AlreadyStruck(Refused):
    """An entry that has been struck before, or a strike itself."""

    def __init__(self, entry_id: str, *, is_strike: bool = False) -> None:
        self.entry_id = entry_id
        what = "is itself a strike" if is_strike else "has been struck already"
        super().__init__(f"entry {entry_id[:ID_LETTERS]} {what}; write the act again instead")


class StruckNotTraced(BadInput):
    """A trace was asked for from an entry that has been struck, or from a strike."""

    def __init__(self, entry_id: str) -> None:
        self.entry_id = entry_id
        super().__init__(
            f"entry {entry_id[:ID_LETTERS]} is struck, so nothing follows from it; trace its vessel instead"
        )


class NothingToStrike(Refused):
    """No entry is left that could be struck."""

    def __init__(self) -> None:
        super().__init__("there is no entry left to strike")


class SameVessel(BadInput):
    """Source and destination are one vessel."""

    def __init__(self, tag: str) -> None:
        self.tag = tag
        super().__init__(f"{tag} cannot be both where it comes from and where it goes; name two vessels")


class NothingMoved(BadInput):
    """An act that would move no litres at all."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what}: 0 moves nothing; give how much")


class Incomplete(BadInput):
    """An act without a field that it needs."""

    def __init__(self, what: str, needed: str) -> None:
        super().__init__(f"a {what} needs {needed}")


class NothingSeen(BadInput):
    """A look entry without any observation."""

    def __init__(self, vessel: str) -> None:
        self.vessel = vessel
        super().__init__(f"nothing is noted about {vessel}; give a level, the bung, a smell or a note")


class NotPossible(BadInput):
    """A value that no instrument could show."""

    def __init__(self, label: str, value: Stated, lowest: Stated, highest: Stated) -> None:
        self.label, self.figures = label, (value, lowest, highest)
        super().__init__(self.words(DEFAULT))

    def words(self, units: Units) -> str:
        """Return the refusal in the user's units."""
        value, lowest, highest = (_shown(each, units) for each in self.figures)
        return f"{self.label} {value} is not possible; it lies between {lowest} and {highest}"


REPEAT = "If this is right, repeat the command with --sure."
"""How a question is answered on the command line and in scripts."""


class Implausible(AskedBack):
    """A value that is possible, but more likely a typing error; `wording` names its quantities in braces."""

    def __init__(self, wording: str, **figures: Stated) -> None:
        self.wording, self.figures = wording, figures
        super().__init__(self.words(DEFAULT))

    def question(self, units: Units) -> str:
        """Return the question in the user's units, as a screen asks it."""
        return self.wording.format(**_all_shown(self.figures, units))

    def words(self, units: Units) -> str:
        """Return the question and how to confirm it on the command line."""
        question = self.question(units)
        return f"{question}{'' if question.endswith(('.', '?')) else '.'} {REPEAT}"


class OddLevel(Implausible):
    """A volume that a vessel is unlikely to have lost or gained, judged by the book alone."""


class CellarUnusable(BadInput):
    """The cellar cannot be opened or written: not a cellar, too new, locked, read-only, full."""


class DamagedBook(CellarUnusable):
    """Something in the book is not as it was written; `found` is the first thing that `check` finds."""

    def __init__(self, name: str, found: str) -> None:
        self.found = found
        super().__init__(
            f"{name} is damaged: {found}; `cooperage check` lists all of it, and `cooperage restore BACKUP --force` "
            "puts the last good backup in its place"
        )


class OutcomeUnknown(CellarUnusable):
    """The cellar went away while it was writing: what was written may be in the book, or not."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} went away just as this was being written, so it may be in the book or not: "
            "look whether it is (`cooperage report book`) before doing it again"
        )
