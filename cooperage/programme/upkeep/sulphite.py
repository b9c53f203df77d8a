"""Sulphite upkeep: how a lot's barrels are spread, which lie under the floor, and what each would take."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from cooperage.book import Cellar, Standing
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.errors import NoSuchLot
from cooperage.book.facts import USUAL
from cooperage.liquid._molecular import free_so2, metabisulphite_g
from cooperage.liquid.hazards import MOST_RISE
from cooperage.programme.upkeep.defaults import DEFAULT_FLOOR, upkeep_of
from cooperage.programme.upkeep.verdicts import chance_under, sure_words

USUAL_BINDING = 0.4
"""Share of an addition that binds until the cellar has measured its own: 30 to 50 % (common practice, no source)."""
ASKED_BACK = 1.5
"""Times the usual dose above which one is asked again (common practice, no source)."""
_PK_KNOWN_TO_ABV = 20.0


@dataclass(frozen=True, slots=True)
class LotSpread:
    """Smallest, middling and largest of a lot's barrels [mg/L]."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class BarrelDose:
    """One barrel's sulphite [mg/L], its target, and what would bring it there.

    `grams` of metabisulphite is None where free SO2, pH or strength is unknown or no sane dose gets there, and zero
    where there is enough; `grams_low` and `grams_high` are what it would be at the ends of the band of free SO2, equal
    where that was not aged. `is_large` marks more than 1.5 times the usual dose, `is_low` a barrel under its floor.
    `wants_chance` is how likely molecular SO2 is under the target, `low_chance` under the floor; None where not known.
    What is less likely than the `risk` that the cellar takes is out of the question. The mead is taken to be as warm as
    `celsius`.
    """

    barrel: str
    litres: float
    free_mg_l: float | None
    ph: float | None
    molecular_mg_l: float | None
    floor_mg_l: float
    wanted_free_mg_l: float | None
    grams: float | None
    days_ago: float | None
    is_low: bool
    is_large: bool
    grams_low: float | None = None
    grams_high: float | None = None
    wants_chance: float | None = None
    low_chance: float | None = None
    risk: float = USUAL.risk
    celsius: float | None = None

    @property
    def measure_first(self) -> bool:
        """True if a reading decides whether anything is wanted: that is neither sure nor out of the question now."""
        return self.grams is not None and self._is_open(self.wants_chance)

    @property
    def may_be_low(self) -> bool:
        """True if a reading decides whether it is under its floor."""
        return self._is_open(self.low_chance)

    def _is_open(self, chance: float | None) -> bool:
        return chance is not None and self.risk <= chance <= 1 - self.risk


@dataclass(frozen=True, slots=True)
class LotSulphite:
    """A lot's barrels, the spread of free and molecular SO2 among them, and their doses in walking order."""

    lot: str
    free: LotSpread | None
    molecular: LotSpread | None
    under_floor: tuple[str, ...]
    doses: tuple[BarrelDose, ...]


def sulphite_by_lot(
    cellar: Cellar, lot: str | None = None, target_mg_l: float | None = None, binding: float = USUAL_BINDING
) -> list[LotSulphite]:
    """Return the sulphite of each lot's barrels (of one lot, if named), a barrel counted with the lot it mostly holds.

    The target is molecular SO2 [mg/L]: `target_mg_l`, else the usual 0.5 or the barrel's own floor where that is
    higher. Doses are for the barrel's real volume. Raises OutsideFormula for either out of range, NoSuchLot.
    """
    if lot is not None and lot.strip().upper() not in {code.upper() for code in cellar.lots}:
        raise NoSuchLot(lot.strip(), sorted(cellar.lots))
    by_lot: dict[str, list[Standing]] = {}
    for standing in cellar.barrels:
        if standing.ml and standing.lots:
            by_lot.setdefault(next(iter(standing.lots)), []).append(standing)
    wanted = [code for code in sorted(by_lot) if lot is None or code.upper() == lot.strip().upper()]
    return [_of_lot(code, by_lot[code], target_mg_l, binding) for code in wanted]


def _of_lot(code: str, standings: Sequence[Standing], target: float | None, binding: float) -> LotSulphite:
    doses = tuple(dose(standing, target, binding) for standing in standings)
    return LotSulphite(
        code,
        _spread([each.free_mg_l for each in doses]),
        _spread([each.molecular_mg_l for each in doses]),
        tuple(each.barrel for each in doses if each.is_low),
        doses,
    )


def dose(standing: Standing, target_mg_l: float | None = None, binding: float = USUAL_BINDING) -> BarrelDose:
    """Calculate what one barrel takes to reach a molecular SO2 [mg/L]."""
    floor = upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
    target = max(DEFAULT_FLOOR, floor) if target_mg_l is None else target_mg_l
    free, ph, molecular = standing.figure("free_so2_mg_l"), standing.value("ph"), standing.molecular_so2
    wanted = _wanted_free(standing, target)
    is_beyond = wanted is not None and free.value is not None and wanted - free.value > MOST_RISE
    grams, most, least = (
        _grams(standing, wanted, each, binding)
        for each in (free.value, *((free.value, free.value) if free.low is None else (free.low, free.high)))
    )
    usual = SUBSTANCES["metabisulphite"].usual_per_l * standing.litres
    return BarrelDose(
        standing.tag,
        standing.litres,
        free.value,
        ph,
        molecular,
        floor,
        wanted,
        grams,
        free.days_ago,
        is_low=molecular is not None and molecular < floor,
        is_large=is_beyond or (grams is not None and grams > ASKED_BACK * usual),
        grams_low=least,
        grams_high=most,
        wants_chance=chance_under(standing, target),
        low_chance=chance_under(standing, floor),
        risk=standing.facts.risk,
        celsius=standing.celsius,
    )


def low_words(dose: BarrelDose) -> str:
    """Return whether a barrel is under its floor, and how sure where a reading decides; empty where it is not."""
    if not dose.may_be_low:
        return "low" if dose.is_low else ""
    return f"{'low' if dose.is_low else 'maybe low'} ({sure_words(dose.low_chance or 0.0)})"


def _grams(standing: Standing, wanted: float | None, free: float | None, binding: float) -> float | None:
    """Return the metabisulphite [g] that brings free SO2 to what is wanted; None where no sane dose does."""
    if wanted is None or free is None or wanted - free > MOST_RISE:
        return None
    return metabisulphite_g(standing.litres, max(0.0, wanted - free), binding)


def _wanted_free(standing: Standing, target: float) -> float | None:
    ph, abv = standing.value("ph"), standing.value("abv")
    if ph is None or abv is None or abv > _PK_KNOWN_TO_ABV:
        return None
    return free_so2(target, ph, abv, standing.celsius)


def _spread(values: Sequence[float | None]) -> LotSpread | None:
    known = [value for value in values if value is not None]
    return LotSpread(min(known), median(known), max(known)) if known else None
