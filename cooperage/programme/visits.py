"""One visit in one line: what one hand did at one vessel at one go, a figure beside the other.

The rule: entries of one vessel and one hand belong to one visit if they were done within a quarter of an hour of the
visit's first, counted from where the list begins. What is about no vessel stands alone. Every entry is in exactly one
visit; visits stand where their first entry stood, and inside one its entries keep their order.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book.log import Entry
from cooperage.book.words import done_words
from cooperage.units import DEFAULT, Units

AT_ONE_GO = timedelta(minutes=15)
"""How long after its first entry a visit still lasts (common practice in walking rows, no source)."""

BETWEEN = " · "


@dataclass(frozen=True, slots=True)
class Visit:
    """The entries of one visit, in the order of the list they were taken from; there is at least one."""

    entries: tuple[Entry, ...]

    @property
    def at(self) -> datetime:
        """When the visit began."""
        return min(entry.happened_at for entry in self.entries)

    @property
    def hand(self) -> str:
        """Whose visit it was; empty where that is not known."""
        return self.entries[0].hand

    @property
    def vessel(self) -> str | None:
        """The tag of the vessel that was visited; None for what is about none."""
        return self.entries[0].vessel

    @property
    def as_done(self) -> list[Entry]:
        """Its entries in the order in which they were done."""
        return sorted(self.entries, key=lambda entry: (entry.happened_at, entry.id))

    @property
    def is_struck(self) -> bool:
        """True if nothing of it stands."""
        return all(entry.struck_by or entry.strikes for entry in self.entries)


def visits(entries: Sequence[Entry]) -> list[Visit]:
    """Gather entries, newest or oldest first, into visits by the rule above."""
    gathered: list[list[Entry]] = []
    under_way: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        key = (entry.vessel or "", entry.hand)
        visit = under_way.get(key)
        if entry.vessel and visit and abs(entry.happened_at - visit[0].happened_at) <= AT_ONE_GO:
            visit.append(entry)
        else:
            under_way[key] = visit = [entry]
            gathered.append(visit)
    return [Visit(tuple(visit)) for visit in gathered]


def visit_acts(visit: Visit, units: Units = DEFAULT) -> list[str]:
    """Return what was done on a visit, in the order it was done: "topped 0.75 L from K-05", "free SO2 24 mg/L", ...

    A struck entry begins with STRUCK; the strike of an entry of the same visit has no words.
    """
    here = {entry.id for entry in visit.entries}
    return [done_words(entry, units) for entry in visit.as_done if entry.strikes not in here]


def visit_words(visit: Visit, units: Units = DEFAULT, *, seen_from: str = "", room: int | None = None) -> str:
    """Return a visit in one line, without when and by whom: "topped 0.75 L from K-05 · free SO2 24 mg/L · pH 3.41".

    Seen from another vessel than its own, its tag stands before it. In a `room` of so many characters that not all fits
    in, whole acts are left out at the end and counted: "· 2 more".
    """
    tag = "" if visit.vessel in (None, seen_from) else f"{visit.vessel}: "
    acts = visit_acts(visit, units)
    for kept in range(len(acts), 0, -1):
        left = len(acts) - kept
        line = tag + BETWEEN.join([*acts[:kept], *([f"{left} more"] if left else [])])
        if room is None or len(line) <= room:
            return line
    return tag + BETWEEN.join([acts[0], *([f"{len(acts) - 1} more"] if len(acts) > 1 else [])])
