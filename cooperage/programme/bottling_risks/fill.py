"""Statistics of filled bottles, pure functions: volumes at 20 °C [mL] against the rules of a profile.

The inspectors' plans are for a lot that is judged from outside; a target is for one's own line. Neither calls a lot
lawful: the sample is what it shows, and the measuring must be better than a fifth of the tolerable error.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from functools import cache
from math import atan, comb, cos, pi, sin, sqrt
from statistics import NormalDist, mean, stdev

from cooperage.errors import BadInput
from cooperage.programme.rules.profile import Profile
from cooperage.programme.rules.span import exactly

_AIR_G_ML, _WEIGHTS_G_ML = 0.0012, 8.0
_TENTH = Decimal("0.1")
Z_SHORT = NormalDist().inv_cdf(0.975)
"""1.96: with the mean so many s above a limit, one bottle in 40 is below it."""
Z_NEVER = NormalDist().inv_cdf(1 - 1e-4)
"""3.72: one in 10,000. UK advice to packers takes that for none; from memory."""


class TooFewBottles(BadInput):
    """A sample of which no spread can be taken."""

    def __init__(self, given: int) -> None:
        super().__init__(f"{given} bottles show no spread; measure two at least")


class NoPlan(BadInput):
    """A sample or a lot for which a profile has no plan."""

    def __init__(self, why: str) -> None:
        super().__init__(why)


@dataclass(frozen=True, slots=True)
class FillSample:
    """Volumes of some bottles at 20 °C [mL]: how many, their mean and their standard deviation with n - 1."""

    volumes_ml: tuple[float, ...]
    n: int
    mean_ml: float
    s_ml: float


def fill_sample(volumes_ml: Sequence[float]) -> FillSample:
    """Return a sample with its mean and spread; raises TooFewBottles."""
    if len(volumes_ml) < 2:
        raise TooFewBottles(len(volumes_ml))
    return FillSample(tuple(volumes_ml), len(volumes_ml), mean(volumes_ml), stdev(volumes_ml))


def volume_from_weight(gross_g: float, tare_g: float, density_kg_m3: float) -> float:
    """Return the volume [mL] of what weighs so much in air, of a density at its temperature [kg/m3].

    The buoyancy of air of 1.2 kg/m3 is taken out, for weights of 8000 kg/m3 (OIML D 28).
    """
    density = density_kg_m3 / 1000
    return (gross_g - tare_g) * (1 - _AIR_G_ML / _WEIGHTS_G_ML) / (density - _AIR_G_ML)


def volume_from_level(nominal_ml: float, above_mm: float, neck_mm: float) -> float:
    """Return the volume [mL] at a level so far above the mark of the nominal one, by the neck's bore.

    Geometry: a cylinder of that inside diameter; it holds within the neck alone. Both in millimetres, below the mark
    negative.
    """
    return nominal_ml + above_mm * pi * neck_mm**2 / 4 / 1000


def tolerable_error(profile: Profile, nominal_ml: float) -> Decimal:
    """Return the tolerable negative error [mL] of a nominal volume; a percentage goes up to the next 0.1 mL.

    Raises RuleUnknown where it was never entered, NoPlan where the profile has none.
    """
    rule = profile.find("tne", nominal_ml)
    if rule is None:
        raise NoPlan(f"the {profile.name} rules have no tolerable error for {nominal_ml:g} mL")
    if rule.unit == "mL":
        return rule.number
    return (exactly(nominal_ml) * rule.number / 100).quantize(_TENTH, ROUND_UP)


def count_below(volumes_ml: Sequence[float], limit_ml: Decimal) -> int:
    """Count the bottles that hold less than a limit; one that holds just as much is not short."""
    return sum(exactly(each) < limit_ml for each in volumes_ml)


@dataclass(frozen=True, slots=True)
class Inspected:
    """What an inspectors' plan finds in a sample: the mean against its limit, the short bottles against the counts.

    `count_check` is "accept", "reject" or "take second sample"; `lot` is that of both checks, or "undecided".
    """

    mean_limit_ml: float
    mean_check: str
    short: int
    far_short: int
    count_check: str

    @property
    def lot(self) -> str:
        """Both checks must accept."""
        if "reject" in (self.mean_check, self.count_check):
            return "reject"
        return "accept" if self.count_check == "accept" else "undecided"


def inspect(
    profile: Profile,
    sample: FillSample,
    nominal_ml: float,
    lot: int,
    *,
    destructive: bool = False,
    second: bool = False,
) -> Inspected:
    """Judge a sample by the plan of its lot (Dir. 76/211/EEC Annex II; SI 2006/659 Sch. 2).

    `second` is a sample of both stages together. Raises NoPlan where the sample is not of the plan's size,
    RuleUnknown.
    """
    error = tolerable_error(profile, nominal_ml)
    nominal = exactly(nominal_ml)
    short, far = (count_below(sample.volumes_ml, nominal - times * error) for times in (1, 2))
    wanted, accept, reject = _plan(profile, "count-destructive" if destructive else "count-double", lot)
    size = wanted
    if second:
        more, accept, reject = _plan(profile, "count-second", lot)
        size += more
    if sample.n != size:
        raise NoPlan(f"a lot of {lot} bottles is judged by {size} of them, and {sample.n} were measured")
    _, factor = profile.find("mean-check", lot, "destructive" if destructive else "").numbers  # type: ignore[union-attr]
    limit = nominal_ml - float(factor or 0) * sample.s_ml
    count = "accept" if short <= accept else "reject" if short >= reject else "take second sample"
    return Inspected(limit, "accept" if sample.mean_ml >= limit else "reject", short, far, count)


def plans_of(
    profile: Profile, lot: int, *, destructive: bool = False
) -> tuple[tuple[int, int, int], tuple[int, int, int] | None]:
    """Return the count plan of a lot, and that of both samples together where there may be a second. Raises NoPlan."""
    if destructive:
        return _plan(profile, "count-destructive", lot), None
    return _plan(profile, "count-double", lot), _plan(profile, "count-second", lot)


def _plan(profile: Profile, rule: str, lot: int) -> tuple[int, int, int]:
    figure = profile.find(rule, lot)
    if figure is None:
        raise NoPlan(
            f"the {profile.name} rules have no such plan for a lot of {lot} bottles; a lot under 100 is all measured"
        )
    n, accept, reject = figure.numbers
    return int(n or 0), int(accept or 0), int(reject or 0)


@dataclass(frozen=True, slots=True)
class FillTarget:
    """The least mean to set a line to [mL], by each of the three packers' rules; the largest binds."""

    by_average: float
    by_short: float
    by_never: float

    @property
    def ml(self) -> float:
        """The largest of the three."""
        return max(self.by_average, self.by_short, self.by_never)


def fill_target(nominal_ml: float, error_ml: float, s_ml: float) -> FillTarget:
    """Return the least mean of a line with a normal spread: nominal; one in 40 short; one in 10,000 far short."""
    by_short = nominal_ml - error_ml + Z_SHORT * s_ml
    return FillTarget(nominal_ml, by_short, nominal_ml - 2 * error_ml + Z_NEVER * s_ml)


@dataclass(frozen=True, slots=True)
class EachBottle:
    """Bottles against the tolerance of each, over and under (27 CFR 24.255(b)): those outside, and how they lie."""

    low_ml: Decimal
    high_ml: Decimal
    outside: tuple[float, ...]
    over: int
    under: int


def check_each(profile: Profile, volumes_ml: Sequence[float], nominal_ml: float) -> EachBottle:
    """Hold each bottle against the tolerance of its size; just on the limit is inside.

    Raises RuleUnknown for a size that the rule does not name and that was not entered, NoPlan.
    """
    rule = profile.find("fill-each", nominal_ml)
    if rule is None:
        raise NoPlan(
            f"the {profile.name} rules have no tolerance for a bottle of {nominal_ml:g} mL; if your authority gives "
            f"one, enter it: `cooperage rules set fill-each.{nominal_ml:.0f}ml PERCENT --source '...'`"
        )
    nominal = exactly(nominal_ml)
    within = nominal * rule.number / 100
    low, high = nominal - within, nominal + within
    exact = [(each, exactly(each)) for each in volumes_ml]
    outside = tuple(each for each, ml in exact if not low <= ml <= high)
    return EachBottle(low, high, outside, sum(ml > nominal for _, ml in exact), sum(ml < nominal for _, ml in exact))


def average_off_percent(means_ml: Sequence[float], nominal_ml: float) -> float:
    """Return how far the average of some means lies from nominal [%], over it positive."""
    return 100 * (mean(means_ml) / nominal_ml - 1)


def average_is_within(profile: Profile, means_ml: Sequence[float], nominal_ml: float) -> bool | None:
    """Return whether the average of the last tax periods is near enough; None before there are as many.

    27 CFR 24.255(c): six consecutive periods of one tax class. Raises RuleUnknown.
    """
    periods = int(profile.named("fill-average.periods").number)
    if len(means_ml) < periods:
        return None
    return abs(average_off_percent(means_ml[-periods:], nominal_ml)) <= float(
        profile.named("fill-average.within").number
    )


@dataclass(frozen=True, slots=True)
class ShortAverage:
    """Average error of a sample against its limit, which lets a negative average pass by chance."""

    average_ml: float
    limit_ml: float
    beyond: int | None

    @property
    def passes(self) -> bool:
        """True if the average is not short by as much as the limit."""
        return self.average_ml >= 0 or -self.average_ml < self.limit_ml


def short_average(sample: FillSample, nominal_ml: float, most_short_ml: float | None = None) -> ShortAverage:
    """Judge the average error as NIST Handbook 133 (2026) chapter 2 does: limit t(0.975, n-1)/sqrt(n) times s.

    `most_short_ml` is the largest shortage allowed to one bottle, as the person has it; None leaves it out.
    """
    limit = student(sample.n - 1) / sqrt(sample.n) * sample.s_ml
    beyond = None
    if most_short_ml is not None:
        beyond = count_below(sample.volumes_ml, exactly(nominal_ml) - exactly(most_short_ml))
    return ShortAverage(sample.mean_ml - nominal_ml, limit, beyond)


@cache
def student(df: int) -> float:
    """Return what Student's t of so many degrees of freedom exceeds once in 40 times: 12.706 for 1, 1.960 for many.

    Found by halving on the series for whole degrees (Abramowitz and Stegun 26.7.3, 26.7.4): SciPy is slow to load.
    """
    low, high = 0.0, 13.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, df) < 0.95 else (low, middle)
    return (low + high) / 2


def _within(t: float, df: int) -> float:
    """Return the chance that Student's t lies between -t and t."""
    angle = atan(t / sqrt(df))
    square = cos(angle) ** 2
    term, total = (cos(angle), cos(angle)) if df % 2 else (1.0, 1.0)
    for nth in range(3 if df % 2 else 2, df - 1, 2):
        term *= (nth - 1) / nth * square
        total += term
    if df == 1:
        return 2 / pi * angle
    return 2 / pi * (angle + sin(angle) * total) if df % 2 else sin(angle) * total


def chance_accepted(
    share_short: float, first: tuple[int, int, int], second: tuple[int, int, int] | None = None
) -> float:
    """Return the chance that a count plan accepts a lot of which a share [1] is short (binomial).

    Plans are (bottles, accept, reject); the counts of a second sample are of both together.
    """
    n, accept, reject = first
    chance = sum(_binomial(n, short, share_short) for short in range(accept + 1))
    if second is not None:
        more, most, _ = second
        for short in range(accept + 1, reject):
            rest = sum(_binomial(more, also, share_short) for also in range(most - short + 1))
            chance += _binomial(n, short, share_short) * rest
    return chance


def _binomial(n: int, k: int, p: float) -> float:
    return comb(n, k) * p**k * (1 - p) ** (n - k)
