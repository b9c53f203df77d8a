"""What a vessel holds by now: what it held when its level was last known, what hands moved since, and what it lost.

The one place where that is calculated: the rounds, the racks, the barrel's page, the reports and the forecast all ask
here, so what a topping is expected to take is always the capacity less the level now.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import cbrt, exp
from statistics import NormalDist

from cooperage.book import Standing
from cooperage.book.declared.looks import SEEN_FULL
from cooperage.book.replay.state import DAY, moment
from cooperage.programme.air.season import UNKNOWN_SEASON
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.units import DEFAULT, Quantity, Units, show, show_day

USUAL_LOSS_PER_YEAR = 0.04
"""What a barrel of 225 L loses in a year until its own toppings show another figure (common practice, no source)."""
PRIOR = "prior: common practice"
BAND = 0.9
"""How often the level lies in the band that is shown beside it."""
FULL_WITHIN_ML = 50
"""A vessel this little short of full is called full: no bung is read more finely (common practice, no source)."""
HORIZON_DAYS = 3650
"""How far ahead anything is looked for."""
_FULL_WITHIN = 0.002  # of the capacity: a dip that shows this little is a dip of a full barrel
_USUAL_LITRES_ML = 225_000
_PRIOR_DOUBT = 0.5  # the usual loss is right within a factor of two or so (common practice, no source)
# New wood takes up some hundredths of what it holds in its first weeks, most of it early (common practice, no source).
_SOAKS, _SOAK_DOUBT, _SOAK_DAYS = 0.02, 0.5, 10.0


@dataclass(frozen=True, slots=True)
class Level:
    """What a vessel holds now [ml], with the band it lies in 90 times of 100, and how that is known.

    `low` is None where it was seen lower than was known and how low is not known: then `ml` is the most it can be.
    `since` is when the level was last known; None where the book's volume is all there is.
    """

    ml: int
    low: int | None
    high: int
    capacity_ml: int
    how: str
    since: datetime | None = None

    @property
    def short_ml(self) -> int:
        """What it is expected to take to the bung [ml]; where `is_at_most`, that much at least."""
        return self.capacity_ml - self.ml

    @property
    def is_at_most(self) -> bool:
        """Return True if it is known to be lower than calculated, by an unknown amount."""
        return self.low is None

    @property
    def is_expected(self) -> bool:
        """Return True if it is ahead of the book, which knows a loss only when a topping or a dip shows it."""
        return self.since is not None


def prior_rate(standing: Standing) -> LossRate:
    """Return the usual loss rate for a barrel's size, for barrels of which nothing is known yet.

    Litres are lost through the wood, so small barrels lose a larger share: area over volume goes with the cube root.
    """
    capacity = standing.vessel.capacity_ml
    a_day = capacity * USUAL_LOSS_PER_YEAR / 365.25 * cbrt(_USUAL_LITRES_ML / capacity)
    return LossRate(
        a_day,
        _PRIOR_DOUBT * a_day,
        None,
        0.0,
        capacity,
        peers_ml_per_day=a_day,
        peers_sd=_PRIOR_DOUBT * a_day,
        season=UNKNOWN_SEASON,
        basis=PRIOR,
    )


def rate_of(standing: Standing, rates: Mapping[str, LossRate]) -> LossRate:
    """Return a barrel's loss rate, or the prior where the cellar has not shown one yet."""
    return rates.get(standing.tag) or prior_rate(standing)


def expected_loss(rate: LossRate, began: float, ended: float) -> tuple[float, float]:
    """Return what a barrel loses between two moments [ml], and one standard deviation of what a visit would find."""
    days = (ended - began) / DAY
    if days <= 0:
        return 0.0, rate.noise.level_ml
    weighted = days * rate.season.mean(began, ended)
    lost = max(0.0, rate.ml_per_day) * weighted
    season = rate.season.doubt(began, ended) * max(0.0, rate.ml_per_day) * days
    visit = rate.noise.variance(lost, rate.noise.step_ml)
    variance = (rate.sd * weighted) ** 2 + visit + season**2
    return lost, variance**0.5


def lost_by(standing: Standing, rate: LossRate, ended: float) -> tuple[float, float]:
    """Return what a barrel has lost since its level was last known [ml], soak included, and one standard deviation."""
    began = last_known(standing)[0]
    lost, sd = expected_loss(rate, began, ended)
    soaked = _soaked(standing, began, ended)
    return lost + soaked, (sd**2 + (_SOAK_DOUBT * soaked) ** 2) ** 0.5


def _soaked(standing: Standing, began: float, ended: float) -> float:
    """Return what new wood is expected to soak up between two moments [ml]."""
    barrel, filled = standing.vessel.barrel, standing.state.filled_at
    if barrel is None or barrel.fills_before != 0 or standing.state.fills != 1 or filled is None or ended <= began:
        return 0.0
    soaked, going = (exp(-max(0.0, at - filled) / DAY / _SOAK_DAYS) for at in (began, ended))
    return _SOAKS * standing.vessel.capacity_ml * (soaked - going)


def last_known(standing: Standing) -> tuple[float, int]:
    """Return when a barrel's level was last known [seconds since 1970], and what hands have left in it since [ml]."""
    known = standing.state.known
    return (standing.at.timestamp(), standing.ml) if known is None else (known.at, known.ml)


def first_day(standing: Standing, rate: LossRate, missing: float, z: float = 0.0) -> float | None:
    """Return after how many days from its last known level loss plus z deviations reach what is missing [ml].

    To a quarter of a day; None where that is more than ten years.
    """
    if missing <= 0:
        return 0.0
    low, high = 0.0, float(HORIZON_DAYS)
    if _reaches(standing, rate, high, z) < missing:
        return None
    while high - low > 0.25:
        middle = (low + high) / 2
        low, high = (low, middle) if _reaches(standing, rate, middle, z) >= missing else (middle, high)
    return high


def short_on(standing: Standing, rate: LossRate, limit_ml: int, z: float = 0.0) -> datetime | None:
    """Return when a barrel left alone is short of full by a limit [ml], the loss taken z deviations more than expected.

    None where that is more than ten years after its level was last known.
    """
    known, held = last_known(standing)
    days = first_day(standing, rate, limit_ml - (standing.vessel.capacity_ml - held), z)
    return None if days is None else datetime.fromtimestamp(known, standing.at.tzinfo) + timedelta(days=days)


def _reaches(standing: Standing, rate: LossRate, days: float, z: float) -> float:
    lost, sd = lost_by(standing, rate, last_known(standing)[0] + days * DAY)
    return lost + z * sd


def level_now(
    standing: Standing, rate: LossRate | None = None, at: datetime | None = None, probability: float = BAND
) -> Level:
    """Calculate what a vessel holds at its cellar's moment or at a later one, left alone until then.

    `rate` is the barrel's own; left out, the prior. What does not stand in wood holds what the book has.
    """
    capacity = standing.vessel.capacity_ml
    if not standing.vessel.is_barrel or standing.ml == 0:
        return Level(standing.ml, standing.ml, standing.ml, capacity, "empty" if standing.ml == 0 else "by the book")
    rate = rate or prior_rate(standing)
    known, held = last_known(standing)
    lost, sd = lost_by(standing, rate, (at or standing.at).timestamp())
    reach = NormalDist().inv_cdf(0.5 + probability / 2) * sd
    value, low, high = (
        round(min(max(ml, 0.0), capacity)) for ml in (held - lost, held - lost - reach, held - lost + reach)
    )
    since = moment(known)
    how = f"{_known_words(standing)} on {show_day(since)}, less the expected loss ({rate.basis})"
    lower = found_lower(standing)
    if lower is None:
        return Level(value, low, high, capacity, how, since)
    return Level(value, None, high, capacity, f"{lower[1]}, how much is missing is not known; {how}", since)


def _known_words(standing: Standing) -> str:
    known = standing.state.known
    return "in the book" if known is None else known.how


def found_lower(standing: Standing) -> tuple[datetime, str] | None:
    """Return since when, and by what text, a barrel is known to be short, with no level known after that.

    Those are a topping that did not reach the bung, and a look that found it low.
    """
    reported = _reported_short(standing)
    known = standing.state.known
    return None if reported is None or (known is not None and known.at >= reported[0].timestamp()) else reported


def wants_topping(standing: Standing, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return since when, and why, a barrel that was found short wants topping: until it is full, or dipped full."""
    reported, known = _reported_short(standing), standing.state.known
    if reported is None or known is None or known.at < reported[0].timestamp():
        return reported
    missing = standing.vessel.capacity_ml - known.ml
    is_full = missing <= max(FULL_WITHIN_ML, _FULL_WITHIN * standing.vessel.capacity_ml)
    if known.how != "dipped" or is_full:
        return None
    return datetime.fromtimestamp(known.at, UTC), f"dipped {show(Quantity.VOLUME, missing, units)} short"


def _reported_short(standing: Standing) -> tuple[datetime, str] | None:
    """Return the last word that it is short in this fill; None where it was filled, topped or seen full since."""
    seen, topped = standing.seen("level"), standing.last("not full")
    reports = [(topped, "topped, not to the bung,")] if topped is not None else []
    if seen is not None and seen.word != SEEN_FULL:
        reports.append((seen.at, f"seen {seen.word}"))
    filled = moment(standing.state.filled_at)
    full = [at for at in (standing.last("full"), standing.last("seen full"), filled) if at is not None]
    latest = max(reports, default=None)
    return None if latest is None or any(at >= latest[0] for at in full) else latest


def format_level(level: Level, units: Units = DEFAULT, now: str = "", of: str = "") -> str:
    """Format a level with its band: "223.3 L (222.1 to 224.5)", or "at most 223.3 L".

    `now` may follow the value, `of` the band.
    """
    value = show(Quantity.VOLUME, level.ml, units) + now
    if level.is_at_most:
        return f"at most {value}"
    if not level.is_expected:
        return value
    low, high = (show(Quantity.VOLUME, ml, units, with_unit=False) for ml in (level.low, level.high))
    return f"{value} ({low} to {high}{of})"


def format_short(level: Level, units: Units = DEFAULT) -> str:
    """Format what a topping is expected to take: "1.7 L", "1.7 L or more", or "?" where nothing of it is known."""
    if level.is_at_most and level.short_ml < FULL_WITHIN_ML:
        return "?"
    return show(Quantity.VOLUME, level.short_ml, units) + (" or more" if level.is_at_most else "")
