"""What a vessel holds, and the arithmetic of taking, joining and evaporating: where ethanol is conserved.

Each property is kept as an amount (its value times millilitres) and the millilitres for which it is known. Values are
per volume, so an amount of ethanol, extract or acid is conserved when liquids part and meet, and an unknown part
never counts as zero.
"""

from cooperage.book.declared.properties import MIXING, PROPERTIES, WhenMixed

SIZE = len(MIXING)
PLACE_OF = {name: place for place, name in enumerate(MIXING)}
_CARRIED = frozenset(PLACE_OF[name] for name in MIXING if PROPERTIES[name].flow is WhenMixed.CARRIED)
_ABV = PLACE_OF["abv"]

ENOUGH_KNOWN = 0.9
"""A mixed figure counts as known when it is known for at least this part of the volume."""

UNKNOWN_ORIGIN = "unknown"

AGREES = 0.1
"""Two liquids whose pH agrees to this are taken for one; of others a mixture's pH is unknown until it is read."""


class Contents:
    """A volume of mead with its origins and properties.

    `ml` is exact. `origins` maps a lot id (or `honey`, `water`, ...) to millilitres; `amounts[i]` is value x ml over
    the `known[i]` millilitres for which property i is known, and `since[i]` those millilitres x the moment [days since
    1970] at which it came to be known. `wood_days` is ml x days spent in wood.
    """

    __slots__ = ("amounts", "known", "ml", "origins", "since", "wood_days")

    def __init__(self, ml: int = 0, origin: str | None = None) -> None:
        self.ml = ml
        self.origins: dict[str, float] = {origin: float(ml)} if origin is not None and ml else {}
        self.amounts = [0.0] * SIZE
        self.known = [0.0] * SIZE
        self.since = [0.0] * SIZE
        self.wood_days = 0.0

    def value(self, place: int) -> float | None:
        """Return the property at `place`, or None when too little of the volume is known."""
        known = self.known[place]
        if self.ml <= 0 or known < ENOUGH_KNOWN * self.ml:
            return None
        return self.amounts[place] / known

    def known_on(self, place: int) -> float:
        """Return the moment [days since 1970] at which the property at `place` came to be known, the mean of its parts.

        Zero where nothing is known.
        """
        known = self.known[place]
        return self.since[place] / known if known else 0.0

    def set(self, place: int, value: float, day: float) -> None:
        """Take `value` for the whole volume, known on a day: a reading replaces what was calculated."""
        self.amounts[place] = value * self.ml
        self.known[place] = float(self.ml)
        self.since[place] = day * self.ml

    def raise_by(self, place: int, amount: float, day: float) -> None:
        """Add an amount (value x ml) of a property that is known; what is unknown stays unknown.

        What is added is known from that day; the mean moment is weighed by amounts, as what fades fades by its amount.
        """
        known = self.known[place]
        if known <= 0:
            return
        more = amount * known / self.ml
        whole = self.amounts[place] + more
        if whole > 0:
            self.since[place] += more / whole * (day * known - self.since[place])
        self.amounts[place] = whole

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
        for place in range(SIZE):
            if place in _CARRIED:
                self._carry(place, other)
            else:
                self.amounts[place] += other.amounts[place]
                self.known[place] += other.known[place]
                self.since[place] += other.since[place]
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
        if mine is None or theirs is None or abs(mine - theirs) > AGREES:
            self.since[place] = self.since[place] if known >= others else other.since[place]
            self.known[place] = max(known, others)
        else:
            self.since[place] += other.since[place]
            self.known[place] = known + others
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
        self.known = [known * rest for known in self.known]
        self.since = [since * rest for since in self.since]
        for place in _CARRIED:
            self.amounts[place] *= rest
        self.wood_days *= rest
        self.ml -= ml
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
        self.known = [known * rest for known in self.known]
        self.since = [since * rest for since in self.since]
        for place in _CARRIED:
            self.amounts[place] *= rest
        self.ml -= ml

    def _scale_from(self, other: "Contents", factor: float) -> None:
        self.origins = {origin: ml * factor for origin, ml in other.origins.items()}
        self.amounts = [amount * factor for amount in other.amounts]
        self.known = [known * factor for known in other.known]
        self.since = [since * factor for since in other.since]
        self.wood_days = other.wood_days * factor

    def _take_all(self, emptied: "Contents") -> None:
        self.origins, self.amounts, self.known = emptied.origins, emptied.amounts, emptied.known
        self.since, self.wood_days = emptied.since, emptied.wood_days
        emptied.ml, emptied.origins, emptied.wood_days = 0, {}, 0.0
        emptied.amounts, emptied.known, emptied.since = [0.0] * SIZE, [0.0] * SIZE, [0.0] * SIZE
