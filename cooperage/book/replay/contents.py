"""What a vessel holds, and the arithmetic of taking, joining and evaporating: where ethanol is conserved.

Each property is kept as an amount (its value times millilitres) and the millilitres for which it is known. Values are
per volume, so an amount of ethanol, extract or acid is conserved when liquids part and meet, and an unknown part
never counts as zero.
"""

from typing import NamedTuple

from cooperage.book.declared.properties import MIXING, PROPERTIES, WhenMixed

SIZE = len(MIXING)
PLACE_OF = {name: place for place, name in enumerate(MIXING)}
_CARRIED = frozenset(PLACE_OF[name] for name in MIXING if PROPERTIES[name].flow is WhenMixed.CARRIED)
_MIXED = tuple(place for place in range(SIZE) if place not in _CARRIED)
_ABV = PLACE_OF["abv"]

ENOUGH_KNOWN = 0.9
"""A mixed figure counts as known when it is known for at least this part of the volume."""

UNKNOWN_ORIGIN = "unknown"

AGREES = 0.1
"""Two liquids whose pH agrees to this are taken for one; of others a mixture's pH is unknown until it is read."""


_BY_VOLUME = ("known", "since", "wooded", "racked")
_BY_AMOUNT = ("amounts", "raised", "raised_on")
ARRAYS = (*_BY_AMOUNT, *_BY_VOLUME)
"""What contents keep of each property: of two volumes that meet all of it adds, of one that parts all is divided."""


class SinceKnown(NamedTuple):
    """What happened to a figure since it was last known, as means over the mead.

    It was known `on` a moment [days since 1970], when the mead had been `wood_days` days in wood, and was racked
    `racked` times since; `added` of the present value came on a later moment, `added_on`.
    """

    on: float
    wood_days: float
    racked: float
    added: float
    added_on: float


class Contents:
    """A volume of mead with its origins and properties.

    `ml` is exact. `origins` maps a lot id (or `honey`, `water`, ...) to millilitres; `amounts[i]` is value x ml over
    the `known[i]` millilitres for which property i is known. Those millilitres x the moment [days since 1970] at which
    it came to be known are `since[i]`, x the days that they had then been in wood `wooded[i]`, x how often they were
    racked after that `racked[i]`; what hands added after that is `raised[i]` of the amount, and that x the moment
    `raised_on[i]`. `wood_days` is ml x days spent in wood.
    """

    __slots__ = (*ARRAYS, "ml", "origins", "wood_days")
    amounts: list[float]
    known: list[float]
    since: list[float]
    wooded: list[float]
    racked: list[float]
    raised: list[float]
    raised_on: list[float]

    def __init__(self, ml: int = 0, origin: str | None = None) -> None:
        self.ml = ml
        self.origins: dict[str, float] = {origin: float(ml)} if origin is not None and ml else {}
        for name in ARRAYS:
            setattr(self, name, [0.0] * SIZE)
        self.wood_days = 0.0

    def value(self, place: int) -> float | None:
        """Return the property at `place`, or None when too little of the volume is known."""
        known = self.known[place]
        if self.ml <= 0 or known < ENOUGH_KNOWN * self.ml:
            return None
        return self.amounts[place] / known

    def since_known(self, place: int) -> SinceKnown | None:
        """Return what happened to the property at `place` since it was known; None where nothing of it is."""
        known = self.known[place]
        if not known:
            return None
        raised = self.raised[place]
        added_on = self.raised_on[place] / raised if raised else 0.0
        on, wood_days, racked = (each[place] / known for each in (self.since, self.wooded, self.racked))
        return SinceKnown(on, wood_days, racked, raised / known, added_on)

    def set(self, place: int, value: float, day: float) -> None:
        """Take `value` for the whole volume, known on a day: a reading replaces what was calculated."""
        self.amounts[place] = value * self.ml
        self.known[place] = float(self.ml)
        self.since[place] = day * self.ml
        self.wooded[place] = self.wood_days
        self.racked[place] = self.raised[place] = self.raised_on[place] = 0.0

    def raise_by(self, place: int, amount: float, day: float) -> None:
        """Add an amount (value x ml), on a day, of a property that is known; what is unknown stays unknown."""
        known = self.known[place]
        if known <= 0:
            return
        more = amount * known / self.ml
        self.amounts[place] += more
        self.raised[place] += more
        self.raised_on[place] += more * day

    def is_racked(self) -> None:
        """Note that all of it went from one vessel into another."""
        self.racked = [racked + known for racked, known in zip(self.racked, self.known, strict=True)]

    def take(self, ml: int) -> "Contents":
        """Part `ml` from this volume; both parts are alike."""
        portion = Contents(ml)
        if ml >= self.ml:
            portion._take_all(self)
            return portion
        share, rest = ml / self.ml, (self.ml - ml) / self.ml
        portion._scale_from(self, share)
        self._scale_from(self, rest)
        self.ml -= ml
        return portion

    def join(self, other: "Contents") -> None:
        """Mix another volume in: amounts add, a carried property stays that of the larger known part."""
        mine, theirs = self.origins, other.origins
        for origin, ml in theirs.items():
            mine[origin] = mine.get(origin, 0.0) + ml
        for name in ARRAYS:
            here, there = getattr(self, name), getattr(other, name)
            for place in _MIXED:
                here[place] += there[place]
        for place in _CARRIED:
            self._carry(place, other)
        self.wood_days += other.wood_days
        self.ml += other.ml

    def _carry(self, place: int, other: "Contents") -> None:
        """Keep the larger part's value; for both parts where they agree, else for that part alone."""
        known, others = self.known[place], other.known[place]
        mine = self.amounts[place] / known if known else None
        theirs = other.amounts[place] / others if others else None
        value = mine if known >= others else theirs
        if value is None:
            return
        do_agree = mine is not None and theirs is not None and abs(mine - theirs) <= AGREES
        for name in _BY_VOLUME:
            here, there = getattr(self, name), getattr(other, name)
            here[place] = here[place] + there[place] if do_agree else here[place] if known >= others else there[place]
        self.amounts[place] = value * self.known[place]

    def evaporate(self, ml: int) -> "Contents":
        """Lose `ml` of water and ethanol in the mead's own proportion; extract, acids and sulphite stay behind."""
        if ml >= self.ml:
            return self.take(ml)
        vapour, rest = Contents(ml), (self.ml - ml) / self.ml
        share = ml / self.ml
        vapour.origins = {origin: part * share for origin, part in self.origins.items()}
        vapour.amounts[_ABV], vapour.known[_ABV] = self.amounts[_ABV] * share, self.known[_ABV] * share
        self.origins = {origin: part * rest for origin, part in self.origins.items()}
        self.amounts[_ABV] *= rest
        self._shrink(ml)
        self.wood_days *= rest
        return vapour

    def more_alike(self, ml: int) -> "Contents":
        """Make `ml` more of the same mead, as a gauge shows was there all along; of nothing, its origin is unknown."""
        if self.ml <= 0:
            return Contents(ml, UNKNOWN_ORIGIN)
        alike = Contents(ml)
        alike._scale_from(self, ml / self.ml)
        return alike

    def tally(self, other: "Contents", sign: float) -> None:
        """Add another volume (or take it off, with `sign` -1) without mixing rules: for sums over places."""
        self.ml += int(sign) * other.ml
        for place in range(SIZE):
            self.amounts[place] += sign * other.amounts[place]
            self.known[place] += sign * other.known[place]

    def contract(self, ml: int) -> None:
        """Shrink by `ml` on mixing (always a small part): the volume falls, every amount stays."""
        rest = (self.ml - ml) / self.ml
        self.origins = {origin: part * rest for origin, part in self.origins.items()}
        self._shrink(ml)

    def _shrink(self, ml: int) -> None:
        """Let the volume fall by `ml` while every amount stays."""
        rest = (self.ml - ml) / self.ml
        for name in _BY_VOLUME:
            setattr(self, name, [each * rest for each in getattr(self, name)])
        for place in _CARRIED:
            self.amounts[place] *= rest
        self.ml -= ml

    def _scale_from(self, other: "Contents", factor: float) -> None:
        self.origins = {origin: ml * factor for origin, ml in other.origins.items()}
        for name in ARRAYS:
            setattr(self, name, [each * factor for each in getattr(other, name)])
        self.wood_days = other.wood_days * factor

    def _take_all(self, emptied: "Contents") -> None:
        self.origins, self.wood_days = emptied.origins, emptied.wood_days
        for name in ARRAYS:
            setattr(self, name, getattr(emptied, name))
            setattr(emptied, name, [0.0] * SIZE)
        emptied.ml, emptied.origins, emptied.wood_days = 0, {}, 0.0
