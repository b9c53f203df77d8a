"""How each figure ages between readings: one declaration each.

A figure either fades by a share a day (sulphite; of temperature, what it differs from its room) or drifts by an amount
a day (the rest, which stand still unless the record shows otherwise). Every vessel's rate is drawn towards what is
usual for its like: for a tank or a barrel, its size, new or used wood, the lot in it and the room it lies in. What is
usual is learned from all vessels; until they have shown it, the declaration holds.

Nothing of this was measured in honey wine: no published series was found. The priors are of wine and wide.
"""

from dataclasses import dataclass
from math import log

MONTH = 365.25 / 12
USUAL_ML = 225_000
"""What the barrel holds whose rate is declared."""
STILL = "still until the record shows otherwise"
BY_AIR = "by what evaporates, else still until the record shows otherwise"


@dataclass(frozen=True, slots=True)
class Ageing:
    """How one property ages.

    `fades`: the rate is a natural logarithm of the share lost a day; else it is an amount a day in the property's unit.
    `like` names a property that ages as this one does: what the cellar has shown of that one moves what is usual here.
    `usual` and `usual_doubt` are the rate of a used 225 L barrel and one standard deviation of that before the cellar
    has shown its own; `of_tank`, `of_new_wood`, `of_size` (for each e-fold a barrel is smaller) and `of_any_size` (for
    each that any vessel is) are added to it, with half of themselves as doubt; `of_lot`, `of_room` and `of_vessel` are
    standard deviations between lots, rooms and vessels. `wander` is one standard deviation of what else happens in a
    month, `rate_varies` of a vessel's rate from one stretch of time to the next, as seasons have it. `stays_doubt` is
    one standard deviation of the share of an addition that is found, against what the book counts; a reading within
    `settles` days of an addition shows nothing of that. `takes` is what one racking takes, with its doubt,
    `takes_varies` one standard deviation from one racking to the next; `of_fill` is one of what filling a vessel
    changes besides: what the wood or the heel in it gives. A figure that has begun to move may go on as fast as
    `fastest` a day. `least` is the lowest value there can be. What evaporates `leaves_by_air` (strength) or leaves more
    of it in less mead (`grows_richer`), by the room's air: that comes to the rate besides. What goes `to_room` fades
    towards the room's temperature, not to nothing: then `wander` is how far from that it ends, and it is known
    by the room where it was never read. `source` is where the rate comes from.
    """

    name: str
    usual_doubt: float
    of_vessel: float
    usual: float = 0.0
    source: str = STILL
    fades: bool = False
    of_tank: float = 0.0
    of_new_wood: float = 0.0
    of_size: float = 0.0
    of_any_size: float = 0.0
    of_lot: float = 0.0
    of_room: float = 0.0
    wander: float = 0.0
    rate_varies: float = 0.0
    stays_doubt: float = 0.0
    takes: float = 0.0
    takes_doubt: float = 0.0
    takes_varies: float = 0.0
    of_fill: float = 0.0
    settles: float = 0.0
    fastest: float = 0.0
    least: float | None = 0.0
    like: str = ""
    leaves_by_air: bool = False
    grows_richer: bool = False
    to_room: bool = False

    @property
    def is_moved_by_air(self) -> bool:
        """True if what evaporates changes it besides its own rate."""
        return self.leaves_by_air or self.grows_richer


_YEAR = 365.25

AGEINGS: dict[str, Ageing] = {
    declared.name: declared
    for declared in (
        # 10 mg/L a month in a 225 L cask and a third to a half of that in a tank: Bordeaux trade practice ("Doses
        # d'anhydride sulfureux", sulfate.ch). From 60 to 50 mg/L in a month is 0.006 a day. New oak: 15 g/L of chips
        # halved free SO2 in 32 days (Practical Winery & Vineyard, Feb 2015). The spread, what racking takes
        # (1 to 4 mg/L under gas, 5 to 20 in the open), and how a warmer room quickens it: common practice, no source.
        Ageing(
            "free_so2_mg_l",
            usual=log(0.006),
            usual_doubt=0.6,
            of_vessel=0.3,
            source="wine in 225 L casks, Bordeaux practice; tanks two to three times slower",
            fades=True,
            of_tank=log(0.4),
            of_new_wood=log(1.5),
            of_size=0.33,
            of_lot=0.15,
            of_room=0.15,
            wander=0.3,
            rate_varies=0.12,
            stays_doubt=0.2,
            settles=5.0,
            takes=3.0,
            takes_doubt=2.0,
            takes_varies=2.5,
        ),
        # 15 mg/L a month on the same page, from about 120 mg/L.
        Ageing(
            "total_so2_mg_l",
            usual=log(0.003),
            usual_doubt=0.9,
            of_vessel=0.3,
            source="wine in 225 L casks, Bordeaux practice; tanks two to three times slower",
            fades=True,
            of_tank=log(0.4),
            of_new_wood=log(1.5),
            of_size=0.33,
            of_lot=0.2,
            of_room=0.2,
            wander=1.0,
            rate_varies=0.12,
            stays_doubt=0.05,
            settles=5.0,
            takes=3.0,
            takes_doubt=2.0,
            takes_varies=2.5,
            like="free_so2_mg_l",
        ),
        # A sound, topped cellar gains 0.06 to 0.12 g/L a year (common practice, no source), casks that are racked often
        # up to 0.2; still until shown.
        Ageing(
            "va_g_l",
            usual_doubt=0.08 / _YEAR,
            of_vessel=0.12 / _YEAR,
            of_lot=0.03 / _YEAR,
            of_room=0.03 / _YEAR,
            of_fill=0.02,
            wander=0.005,
            source=BY_AIR,
            grows_richer=True,
        ),
        Ageing(
            "ta_g_l",
            usual_doubt=0.1 / _YEAR,
            of_vessel=0.1 / _YEAR,
            of_fill=0.1,
            wander=0.02,
            source=BY_AIR,
            grows_richer=True,
        ),
        Ageing(
            "ph",
            usual_doubt=0.02 / _YEAR,
            of_vessel=0.02 / _YEAR,
            of_fill=0.02,
            wander=0.004,
        ),
        Ageing(
            "abv",
            usual_doubt=0.05 / _YEAR,
            of_vessel=0.1 / _YEAR,
            of_fill=0.1,
            wander=0.01,
            source=BY_AIR,
            leaves_by_air=True,
        ),
        Ageing(
            "sugar_g_l",
            usual_doubt=1.0 / _YEAR,
            of_vessel=1.0 / _YEAR,
            of_fill=1.0,
            wander=0.1,
            source=BY_AIR,
            grows_richer=True,
        ),
        Ageing(
            "sg",
            usual_doubt=0.0005 / _YEAR,
            of_vessel=0.0005 / _YEAR,
            of_fill=0.0007,
            wander=0.0001,
            fastest=0.002,  # where it has begun to move, yeast may be at work: common practice, no source
            least=None,
        ),
        # Heat held over what the wall lets through: litres x 4.0 kJ/(L K) (from memory, between water and spirit)
        # x (surface + wall) / area. Surface to still air: 1 / (2.5 + 5.1 e) m2 K/W at 10 °C (ISO 6946, annex on surface
        # resistances), with e of 0.9 for wood and 0.2 for bright steel (from memory); wall: 27 mm of hardwood at
        # 0.18 W/(m K) (ISO 10456). A barrel of 225 L with 1.9 m2 has 1.6 days, with others beside it, which shield a
        # fifth of it (common practice, no source), 2.0; a steel tank as high as wide 1.4 for 225 L, 3.0 for 2,000 L;
        # a keg of 50 L 0.9. Time goes with volume over area: the cube root of the volume. How far mead stands from
        # what is read of its room, by its tier and the wall beside it: common practice, no source.
        Ageing(
            "temperature_c",
            usual=log(1 / 2.0),
            usual_doubt=0.4,
            of_vessel=0.2,
            source="heat held over what the wall lets through",
            fades=True,
            to_room=True,
            of_tank=log(2.0 / 1.4),
            of_any_size=1 / 3,
            wander=0.8,
            least=None,
        ),
    )
}
