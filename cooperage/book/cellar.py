"""The state of the cellar at one time: each vessel, what it holds, and whether a figure was measured or calculated."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, lru_cache
from math import log
from typing import Protocol

from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.errors import NoSuchVessel
from cooperage.book.facts import USUAL
from cooperage.book.replay.contents import PLACE_OF
from cooperage.book.replay.gravity import gravity_of
from cooperage.book.replay.state import DAY, VesselState, moment
from cooperage.book.store.registry import Lot, Position, Vessel
from cooperage.liquid._molecular import TEMPERATURE, molecular_share
from cooperage.units import ago_words, calendar_days

CELLAR_CELSIUS = 15.0
"""Without a measured temperature, molecular SO2 is calculated for a cool cellar (common practice, no source)."""

_PK_KNOWN_TO_ABV = 20.0
MOLECULAR = "molecular_so2_mg_l"
"""The name of molecular SO2, which is no property: it follows from free SO2, pH, strength and temperature."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of a vessel: its value (None is unknown), and where it comes from.

    `how` is "read" (measured) while nothing has changed since the reading, "calculated" once something has
    or when it was never measured in this vessel, "unknown" without a value: scripts rely on these words. `days_ago`
    counts the time since the last reading in this fill; `calendar_days` is what people are shown of it, as `age` and
    `ago`.
    `uncertainty` is one standard deviation. A figure that was aged has what was last `measured` in this fill, what was
    `added` by hand since, in its unit, the band from `low` to `high` in which it lies 90 times of 100, and as text the
    `basis` of both. Molecular SO2 is calculated `at_celsius`.
    """

    name: str
    value: float | None
    how: str
    days_ago: float | None = None
    uncertainty: float | None = None
    calendar_days: int | None = None
    measured: float | None = None
    added: float = 0.0
    low: float | None = None
    high: float | None = None
    basis: str = ""
    at_celsius: float | None = None

    @property
    def age(self) -> str:
        """How old its last reading is, in a column: "45 d"; empty where there is none."""
        return "" if self.calendar_days is None else f"{self.calendar_days} d"

    @property
    def ago(self) -> str:
        """How long ago it was last read, in a sentence: "45 days ago"; empty where it was not."""
        return "" if self.calendar_days is None else ago_words(self.calendar_days)

    @property
    def source(self) -> str:
        """Where the figure comes from: "measured 3 days ago", "calculated; last measured 45 days ago"."""
        if self.how == "unknown":
            return "unknown"
        if not self.ago:
            return "calculated"
        return f"measured {self.ago}" if self.how == "read" else f"calculated; last measured {self.ago}"


@dataclass(frozen=True, slots=True)
class Seen:
    """One observation of a vessel, as a word, and when it was made."""

    word: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Decided:
    """What was last decided about a vessel, when, and in which flight if it was in one.

    `next_look` is when it is to be tasted again; None where no time was given. A quarantine that came with the mead of
    another vessel was `carried_from` that one, by its tag.
    """

    decided: Judgement
    at: datetime
    flight: str
    next_look: datetime | None
    carried_from: str = ""


class FigureCourse(Protocol):
    """How a figure goes on if its vessel is left alone."""

    def after(self, days: float) -> tuple[float, float]:
        """Return the figure so many days from now, and one standard deviation of it."""

    def chance(self, days: float, limit: float, sign: int) -> float:
        """Return the chance that it is below (`sign` -1) or above (1) a limit, so many days from now."""

    def besides_air(self, days: float) -> float:
        """Return how much it changes in so many days by other things than what evaporates."""

    def days_until(self, limit: float, sign: int, chance: float) -> float | None:
        """Return after how many days it is beyond a limit with at least a chance; None where that is far off."""


class Standing:
    """One vessel as it stands at `at`; its figures are as they were read, and the book knows of no course of them.

    `scored_at` is when the last flight was poured that a panel scored it in, and that is revealed. `carried_from` is
    the tag of the vessel from which its quarantine came with the mead.
    """

    facts = USUAL
    scored_at: datetime | None = None
    carried_from = ""

    def __init__(self, vessel: Vessel, state: VesselState, at: datetime, lots: Mapping[str, Lot]) -> None:
        self.vessel = vessel
        self.state = state
        self.at = at
        self.lots_by_id = lots

    @property
    def tag(self) -> str:
        """The vessel's tag."""
        return self.vessel.tag

    @property
    def ml(self) -> int:
        """What it holds [ml]."""
        return self.state.ml

    @property
    def litres(self) -> float:
        """What it holds [L]."""
        return self.state.ml / 1000

    @property
    def headspace_ml(self) -> int:
        """What it is short of full [ml]."""
        return self.vessel.capacity_ml - self.state.ml

    @property
    def is_retired(self) -> bool:
        """True if it has left the programme."""
        return self.state.retired_at is not None

    @property
    def position(self) -> Position:
        """Where it lies: room, row, bay, tier."""
        return self.state.position or self.vessel.position

    @cached_property
    def lots(self) -> dict[str, float]:
        """The lots (or honey, water, spirit) it is made of, with the fraction of each, largest first."""
        whole = sum(self.state.contents.origins.values())
        shares = sorted(self.state.contents.origins.items(), key=lambda item: (-item[1], item[0]))
        return {self._name(origin): ml / whole for origin, ml in shares} if whole else {}

    def _name(self, origin: str) -> str:
        lot = self.lots_by_id.get(origin)
        return origin if lot is None else lot.code

    @property
    def fill_number(self) -> int | None:
        """Which fill this is in the barrel's life; None when the fills before it came are unknown."""
        before = self.vessel.barrel.fills_before if self.vessel.barrel else 0
        return None if before is None else before + self.state.fills

    @property
    def days_in_wood(self) -> float | None:
        """Days since this fill began; None when it is empty or no barrel."""
        return self._days_since(self.state.filled_at) if self.vessel.is_barrel else None

    @property
    def days_empty(self) -> float | None:
        """Days since it was emptied; None when it holds something or was never filled here."""
        return self._days_since(self.state.emptied_at) if self.ml == 0 else None

    @property
    def calendar_days_in_wood(self) -> int | None:
        """Days since this fill began as people are shown them, by the calendar; None when it is empty or no barrel."""
        return self._calendar_days(self.state.filled_at) if self.vessel.is_barrel else None

    @property
    def calendar_days_empty(self) -> int | None:
        """Days since it was emptied as people are shown them, by the calendar; None where it is not known."""
        return self._calendar_days(self.state.emptied_at) if self.ml == 0 else None

    @property
    def mead_days_in_wood(self) -> float:
        """Days the mead itself has spent in wood so far, averaged over its litres."""
        if self.ml == 0:
            return 0.0
        pending = (self._days_since(self.state.touched_at) or 0.0) if self.vessel.is_barrel else 0.0
        return self.state.contents.wood_days / self.ml + pending

    def days_since(self, what: str) -> float | None:
        """Days since the last entry of a kind, treatment or reading here; None when there was none."""
        return self._days_since(self.state.last.get(what))

    def last(self, what: str) -> datetime | None:
        """When the last entry of a kind, treatment or reading was; None when there was none."""
        return moment(self.state.last.get(what))

    def seen(self, what: str) -> Seen | None:
        """Return the last look at the 'level', 'bung' or 'smell'; None if there was none."""
        word, at = self.state.seen.get(what, ("", None))
        when = moment(at)
        return None if when is None else Seen(word, when)

    @property
    def judged(self) -> Decided | None:
        """What was last decided about it; None where nothing was, of the mead that is in it now."""
        judged = self.state.judged
        if judged is None or (at := moment(judged.at)) is None:
            return None
        decided = Judgement(judged.verdict, judged.weeks)
        return Decided(decided, at, judged.flight, moment(judged.next_look), self.carried_from)

    @property
    def is_quarantined(self) -> bool:
        """True if its mead goes into no blend and tops no other, until it is judged otherwise."""
        return self.state.is_quarantined

    def _days_since(self, at: float | None) -> float | None:
        return None if at is None else max(0.0, (self.at.timestamp() - at) / DAY)

    def _calendar_days(self, at: float | None) -> int | None:
        then = moment(at)
        return None if then is None else calendar_days(then, self.at)

    def figure(self, name: str) -> Figure:
        """Return a property of the mead, or the last reading of the vessel."""
        read = self.state.reads.get(name)
        days_ago = None if read is None else self._days_since(read.at)
        uncertainty = None if read is None else read.uncertainty
        is_fresh = read is not None and not read.changed
        if name in PLACE_OF:
            value = self.state.contents.value(PLACE_OF[name])
        elif name == "sg" and not is_fresh:
            value = self.calculated_sg
        else:
            value, is_fresh = (None, False) if read is None else (read.value, True)
        how = "unknown" if value is None else "read" if is_fresh else "calculated"
        return Figure(name, value, how, days_ago, uncertainty, None if read is None else self._calendar_days(read.at))

    def course(self, name: str) -> FigureCourse | None:  # noqa: ARG002 - for who knows one
        """Return how a figure of the mead, or molecular SO2, goes on; None where that is not known."""
        return None

    def noise(self, name: str) -> float:
        """Return one standard deviation of an ordinary reading, in the property's unit."""
        return PROPERTIES[name].uncertainty

    def value(self, name: str) -> float | None:
        """Return the value of a figure without its source."""
        return self.figure(name).value

    @cached_property
    def calculated_sg(self) -> float | None:
        """Gravity [SG 20/20] that follows from strength and sugar; None where either is unknown."""
        return gravity_of(self.value("abv"), self.value("sugar_g_l"))

    @cached_property
    def molecular_so2(self) -> float | None:
        """Molecular SO2 [mg/L] from the last free SO2 and pH, at the temperature read or a cool cellar's.

        None where one of them is unknown, or where the mead is stronger than the published pK goes.
        """
        free, ph, abv = self.value("free_so2_mg_l"), self.value("ph"), self.value("abv")
        share = None if ph is None or abv is None else self.molecular_share(ph, abv)
        return None if free is None or share is None else free * share

    def molecular_figure(self) -> Figure:
        """Return molecular SO2 [mg/L] as a figure."""
        value = self.molecular_so2
        if value is None:
            return Figure(MOLECULAR, value, "unknown")
        return Figure(MOLECULAR, value, "calculated", at_celsius=self.celsius)

    def molecular_share(self, ph: float, abv: float) -> float | None:
        """Return the molecular share of free SO2 at a pH and strength [% vol]; None where no pK is published for it."""
        return None if abv > _PK_KNOWN_TO_ABV else _molecular_share(ph, abv, self.celsius)

    @cached_property
    def molecular_per_degree(self) -> float:
        """By what share molecular SO2 rises with a degree of warmth [1/°C]; none where its share is unknown."""
        ph, abv = self.value("ph"), self.value("abv")
        if ph is None or abv is None or abv > _PK_KNOWN_TO_ABV:
            return 0.0
        colder = min(self.celsius, TEMPERATURE[1] - 1.0)
        return log(_molecular_share(ph, abv, colder + 1.0) / _molecular_share(ph, abv, colder))

    @cached_property
    def celsius(self) -> float:
        """The temperature [°C] of the contents, at which molecular SO2 is calculated, as far as its pK is published."""
        celsius = self.value("temperature_c")
        return CELLAR_CELSIUS if celsius is None else min(max(celsius, TEMPERATURE[0]), TEMPERATURE[1])

    @cached_property
    def cost_per_l(self) -> float | None:
        """Cost of the mead [money per litre] by its lots; None where a lot's cost is unknown."""
        return cost_of(self.state.contents.origins, self.lots_by_id)


def cost_of(origins: Mapping[str, float], lots_by_id: Mapping[str, Lot]) -> float | None:
    """Return what a litre of these millilitres by lot has cost [money]; None where a lot's cost is unknown.

    What is no lot (honey, water, spirit that was added) counts as having cost nothing.
    """
    whole = sum(origins.values())
    costs = [(lots_by_id[origin].cost_per_l if origin in lots_by_id else 0.0, ml) for origin, ml in origins.items()]
    if not whole or any(cost is None for cost, _ in costs):
        return None
    return sum((cost or 0.0) * ml for cost, ml in costs) / whole


@lru_cache(maxsize=65_536)
def _molecular_share(ph: float, abv: float, celsius: float) -> float:
    """Remembered, since every reading of the cellar asks again for every barrel, and few have changed."""
    return molecular_share(ph, abv, celsius)


class Cellar:
    """Every vessel as it stands at `at`, by tag.

    `mark` changes with whatever is written or registered, and is the same in a copy; empty for a past moment.
    """

    def __init__(self, standings: list[Standing], lots: Mapping[str, Lot], at: datetime, mark: str = "") -> None:
        self.at = at
        self.mark = mark
        self.lots = {lot.code: lot for lot in lots.values()}
        self._by_tag = {standing.tag: standing for standing in standings}
        self._folded = {tag.upper(): tag for tag in self._by_tag}

    def __iter__(self) -> Iterator[Standing]:
        return iter(self._by_tag.values())

    def __len__(self) -> int:
        return len(self._by_tag)

    def __contains__(self, tag: str) -> bool:
        return tag.strip().upper() in self._folded

    def __getitem__(self, tag: str) -> Standing:
        try:
            return self._by_tag[self._folded[tag.strip().upper()]]
        except KeyError:
            raise NoSuchVessel(tag.strip(), self._by_tag) from None

    @property
    def barrels(self) -> list[Standing]:
        """The barrels of the programme, in walking order; retired ones are left out."""
        return [s for s in self.in_walking_order() if s.vessel.is_barrel and not s.is_retired]

    def in_walking_order(self) -> list[Standing]:
        """List all vessels in walking order: by room, row, bay and tier; those without a position last."""
        return sorted(self, key=_walk)


def _walk(standing: Standing) -> tuple[tuple[bool, str], tuple[bool, str], tuple[bool, int], int, str]:
    room, row, bay, tier = standing.position
    return (room is None, room or ""), (row is None, row or ""), (bay is None, bay or 0), tier or 0, standing.tag
