"""What a sign costs while it waits: the one measure by which signs are ranked, everywhere."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from cooperage.book import Standing
from cooperage.programme.losses.loss_rate import SURE_ENOUGH, LossRate
from cooperage.programme.signs.looks import found_wrong
from cooperage.programme.signs.sign import ODD_LOSS, Sign, SignState
from cooperage.programme.signs.words import word_of
from cooperage.programme.upkeep.defaults import upkeep_of

MONTH_DAYS = 30
# Shares of the litres at risk that a month of waiting costs on average (common practice, no source).
_LEAK_OPENS, _TURNS, _UNPROTECTED, _WORKS, _FALLS, _UNDER_AIR = 0.10, 0.05, 0.05, 0.03, 0.02, 0.20
_STUCK, _WRONG_WARMTH = 0.10, 0.02
_OF_BUNG: Mapping[str, float] = {"popped": 0.03, "loose": 0.008, "weeping": 0.005}
_OF_SMELL: Mapping[str, float] = {
    "vinegar": 0.03, "mould": 0.03, "horse": 0.03, "solvent": 0.02, "flat": 0.02, "egg": 0.005,
}  # fmt: skip
_FORGOTTEN, _FORGOTTEN_AT_MOST = 0.005, 0.03  # for each month beyond the interval, and at most
_A_LEAK = 0.5  # of dips that show less than the book, as many are a leak as a slip
_TROUBLE_SHARE = 0.01  # of the litres at risk in a month


@dataclass(frozen=True, slots=True)
class _At:
    """A sign, its vessel, and the vessel's loss rate where it has one."""

    sign: Sign
    standing: Standing
    rate: LossRate | None

    @property
    def litres(self) -> float:
        """What is at risk [L]: the mead in it, or what the next fill of an empty barrel would be."""
        return (self.standing.ml or self.standing.vessel.capacity_ml) / 1000

    @property
    def sure(self) -> float:
        """How sure it is now; what was seen is sure. A leak that the last visits do not show is as sure as they are."""
        if self.sign.kind == "leak" and self.rate is not None and self.rate.leak is not None:
            return self.rate.leak.probability
        return 1.0 if self.sign.sure is None else self.sign.sure


def waiting_costs_l(sign: Sign, standing: Standing, rate: LossRate | None = None) -> float:
    """Return what a month of waiting costs on average [L of mead]: what is lost in it, and what spoils, times how sure.

    Of L litres in the barrel, by the kind of sign:

    - leak, one odd visit: what it loses beyond its peers in a month, and 10 % of L, for a leak may open; times the
      chance that it leaks by its last visits. One odd visit that was more likely a slip of the pen costs little.
    - va: 5 % of L at the limit, and more in proportion to how far it is passed, times the chance that it is passed by
      the month's end: what climbs far below its limit can wait.
    - sulphite: 5 % of L with no molecular SO2 left, and in proportion to how much of the floor is missing, times how
      sure: 0.38 of 0.40 costs next to nothing.
    - gravity 3 %, sulphite loss 2 % of L, times how sure; a smell 0.5 to 3 %, a bung 0.5 to 3 % of L, by its word.
    - partial: 20 % of L, in proportion to the air above it.
    - dip: half of the litres missing, since it may be a leak that began or a slip.
    - stuck 10 % of L, times how sure, for sugar without yeast at work spoils; its warmth 2 % of L.
    - litres: a twelfth of what did not add up in a year.
    - empty: 0.5 % of the next fill for each month beyond its interval, at most 3 %.
    - class line, strength: nothing.

    A kind that is not declared costs nothing. All shares are common practice, without a source: they rank what is
    shown and decide nothing that is written.
    """
    costs = _COSTS.get(sign.kind)
    return 0.0 if costs is None else max(0.0, costs(_At(sign, standing, rate)))


def _leak(at: _At) -> float:
    rate = at.rate
    if rate is None or rate.leak is None:
        return at.sure * _LEAK_OPENS * at.litres
    if at.sign.kind == "leak":
        chance, more_l = rate.leak.probability, (rate.ml_per_day - rate.peers_ml_per_day) * MONTH_DAYS / 1000
    else:
        chance, more_l = rate.leak.probability, (rate.leak.lost_ml - rate.leak.expected_ml) / 1000
    return chance * (max(0.0, more_l) + _LEAK_OPENS * at.litres)


def _acidity(at: _At) -> float:
    value, ceiling = at.standing.value("va_g_l"), upkeep_of(at.standing).va_ceiling_g_l
    times = value / ceiling if value is not None and ceiling else 1.0
    course = at.standing.course("va_g_l")
    over = float(times > 1.0) if course is None or ceiling is None else course.chance(MONTH_DAYS, ceiling, +1)
    return at.sure * over * _TURNS * times * at.litres


def _sulphite(at: _At) -> float:
    value, floor = at.standing.molecular_so2, upkeep_of(at.standing).molecular_so2_floor_mg_l
    missing = 1.0 - (value or 0.0) / floor if floor else 0.0
    return at.sure * _UNPROTECTED * missing * at.litres


def _of_words(what: str, shares: Mapping[str, float]) -> Callable[[_At], float]:
    def costs(at: _At) -> float:
        words, _ = found_wrong(at.standing).get(what, ("", None))
        return max((shares.get(word, 0.0) for word in words.replace(",", " ").split()), default=0.0) * at.litres

    return costs


def _partial(at: _At) -> float:
    return _UNDER_AIR * at.standing.headspace_ml / at.standing.vessel.capacity_ml * at.litres


def _empty(at: _At) -> float:
    every = upkeep_of(at.standing).sniff_every_days or 0
    beyond = ((at.standing.days_empty or 0.0) - every) / MONTH_DAYS
    return min(_FORGOTTEN_AT_MOST, _FORGOTTEN * max(0.0, beyond)) * at.litres


_COSTS: Mapping[str, Callable[[_At], float]] = {
    "leak": _leak,
    ODD_LOSS: _leak,
    "va": _acidity,
    "sulphite": _sulphite,
    "sulphite loss": lambda at: at.sure * _FALLS * at.litres,
    "gravity": lambda at: at.sure * _WORKS * at.litres,
    "stuck": lambda at: at.sure * _STUCK * at.litres,
    "ferment warmth": lambda at: at.sure * _WRONG_WARMTH * at.litres,
    "smell": _of_words("smell", _OF_SMELL),
    "bung": _of_words("bung", _OF_BUNG),
    "partial": _partial,
    "dip": lambda at: _A_LEAK * abs(at.sign.about_l or 0.0),
    "litres": lambda at: abs(at.sign.about_l or 0.0) / 12,
    "empty": _empty,
}

_KNOWN = ("strength",)
"""Kinds that are good to know and ask for nothing."""


def weighed(sign: Sign, standing: Standing, rate: LossRate | None = None) -> Sign:
    """Return a sign with what waiting costs, whether that makes it trouble, and its word.

    It is trouble when it is as good as sure and a month of waiting costs a hundredth of the litres at risk; else it is
    due: a reading, a dose, a look. What asks for nothing is known.
    """
    at = _At(sign, standing, rate)
    costs = waiting_costs_l(sign, standing, rate)
    is_trouble = at.sure >= SURE_ENOUGH and costs >= _TROUBLE_SHARE * at.litres
    state = SignState.TROUBLE if is_trouble else SignState.DUE
    known = replace(sign, waiting_costs_l=costs, state=SignState.KNOWN if sign.kind in _KNOWN else state)
    return replace(known, word=word_of(known, standing))


_STATES = tuple(SignState)


def worst_first(found: Iterable[Sign]) -> list[Sign]:
    """Order signs: trouble before what is due, each by what waiting costs; alike, in the order they come in."""
    return sorted(found, key=lambda sign: (_STATES.index(sign.state), -sign.waiting_costs_l))
