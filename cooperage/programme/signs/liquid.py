"""Signs in the mead: acidity that climbs, gravity that moves, sulphite that falls fast, strength near a class line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from cooperage.book import Cellar, Standing
from cooperage.book.facts import Facts
from cooperage.book.replay.replay import lot_strength
from cooperage.book.replay.state import DAY, moment
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.signs.readings import histories
from cooperage.programme.signs.sign import Sign
from cooperage.programme.signs.sulphite_falls import Fall, worst_fall
from cooperage.programme.signs.trends import Point, Trend, moves, usual_slope
from cooperage.programme.upkeep.defaults import GRAVITY_MOVES, upkeep_of
from cooperage.programme.upkeep.verdicts import over_limit
from cooperage.units import DEFAULT, Quantity, Units, counted, show

# Common practice, no source: a move is shown when chance would bring one in a thousand such and it is worth a look.
_CHANCE = 0.001
_VA_WORTH = 0.1  # [g/L] between first and last reading
_STRONGER = 0.4  # [% vol]
_NEAR_LINE = 0.2  # [% vol] (common practice, no source)
_FALL_TIMES, _FALL_WORTH = 2.0, 5.0  # times the usual fall, and so many mg/L more


@dataclass(frozen=True, slots=True)
class ClassLine:
    """A strength [% vol] at which a class changes, where that is written, and when it was last looked up."""

    abv: float
    what: str
    source: str
    as_of: date | None = None

    @property
    def words(self) -> str:
        """Return what changes there, and where that is written."""
        as_of = "" if self.as_of is None else f", as of {self.as_of:%Y-%m}"
        return f"{self.what}, {self.source}{as_of}"


CLASS_LINES = (
    ClassLine(14.0, "label tolerance", "27 CFR 4.36", date(2024, 11, 1)),
    ClassLine(16.0, "tax class", "26 USC 5041", date(2024, 11, 1)),
    ClassLine(21.0, "tax class", "26 USC 5041", date(2024, 11, 1)),
    ClassLine(24.0, "tax class", "26 USC 5041", date(2024, 11, 1)),
)
"""Lines to be reminded of until the cellar gives its own; references, to be checked with one's authority."""


def class_lines(facts: Facts) -> tuple[ClassLine, ...]:
    """Return the cellar's class lines; those it gave itself and we know nothing of are its own."""
    known = {line.abv: line for line in CLASS_LINES}
    return tuple(known.get(abv, ClassLine(abv, "a line", "the cellar's own")) for abv in facts.class_lines)


def climbing_va(cellar: Cellar, units: Units = DEFAULT) -> Iterator[Sign]:
    """Find volatile acidity that rises beyond its readings' error and its peers, or stands over the limit."""
    found = histories(cellar, "va_g_l")
    usual = usual_slope(found)
    for tag, points in found.items():
        standing = cellar[tag]
        ceiling = upkeep_of(standing).va_ceiling_g_l or 0.0
        trend = moves(points, usual, +1)
        now = standing.value("va_g_l") or points[-1][1]
        if trend is not None and trend.chance < _CHANCE and trend.last - trend.first > _VA_WORTH:
            over = ", over the limit" if now > ceiling else ""
            first, last = (show(Quantity.ACID, value, units, with_unit=False) for value in (trend.first, trend.last))
            why = f"volatile acidity rose from {first} to {last} g/L in {_span(trend, points)}{over}"
            yield _sign(tag, "va", why, trend)
        elif now > ceiling:
            course = standing.course("va_g_l")
            sure = None if course is None else course.chance(0.0, ceiling, +1)
            yield Sign(tag, "va", over_limit(now, ceiling, units), moment(points[-1][0]), sure)


def moving_gravity(cellar: Cellar, units: Units = DEFAULT) -> Iterator[Sign]:
    """Find gravity that falls: evaporation only raises it, so yeast may be at work."""
    found = histories(cellar, "sg")
    usual = usual_slope(found)
    for tag, points in found.items():
        trend = moves(points, usual, -1)
        if trend is not None and trend.chance < _CHANCE and trend.first - trend.last > GRAVITY_MOVES:
            first, last = (show(Quantity.GRAVITY, value, units) for value in (trend.first, trend.last))
            why = f"gravity fell from {first} to {last} in {_span(trend, points)}: refermenting?"
            yield _sign(tag, "gravity", why, trend)


def falling_sulphite(cellar: Cellar, experience: Experience, units: Units = DEFAULT) -> Iterator[Sign]:
    """Find free SO2 that fell, over the last few readings, much faster than `experience` of the cellar explains."""
    for standing in cellar.barrels:
        fall = worst_fall(standing, experience)
        if fall is not None and fall.chance < _CHANCE and fall.lost > _FALL_WORTH + _FALL_TIMES * fall.normal:
            yield Sign(standing.tag, "sulphite loss", _fell(fall, units), moment(fall.since), 1 - fall.chance)


def _fell(fall: Fall, units: Units) -> str:
    first, added, last, mild = (
        show(Quantity.SULPHITE, value, units) for value in (fall.first, fall.added, fall.last, fall.expected)
    )
    start = f"{first} and {added} added" if fall.added else first
    return f"free SO2 fell from {start} to {last} in {counted(round(fall.days), 'day')}, where {mild} was expected"


def stronger(standing: Standing, cellar: Cellar, units: Units = DEFAULT) -> Iterator[Sign]:
    """Return where a barrel that held spirit has read stronger than the lots in it."""
    barrel, read = standing.vessel.barrel, standing.state.reads.get("abv")
    if barrel is None or not barrel.held_spirit or read is None:
        return
    expected = _by_lots(standing, cellar)
    if expected is not None and read.value > expected + _STRONGER:
        has, lots = (show(Quantity.STRENGTH, value, units, with_unit=False) for value in (read.value, expected))
        why = f"measured {has} % vol; its lots would give {lots} %. The {barrel.past_life} barrel has raised it"
        yield Sign(standing.tag, "strength", why, standing.last("abv"))


def _by_lots(standing: Standing, cellar: Cellar) -> float | None:
    strengths = [
        (share, None if code not in cellar.lots else lot_strength(cellar.lots[code]))
        for code, share in standing.lots.items()
    ]
    if any(abv is None for _, abv in strengths):
        return None
    return sum(share * (abv or 0.0) for share, abv in strengths)


def near_class_line(
    standing: Standing, lines: Sequence[ClassLine] = CLASS_LINES, units: Units = DEFAULT
) -> Iterator[Sign]:
    """Remind of a class line close to a barrel's strength: a reference with its source, no advice."""
    figure = standing.figure("abv")
    if figure.value is None:
        return
    for line in lines:
        if abs(figure.value - line.abv) <= _NEAR_LINE + 1e-9:
            strength = show(Quantity.STRENGTH, figure.value, units)
            why = (
                f"{strength} ({figure.source}), near the class line of {line.abv:g} % vol "
                f"({line.words}; check with your authority)"
            )
            yield Sign(standing.tag, "class line", why, standing.last("abv"))


def _span(trend: Trend, points: Sequence[Point]) -> str:
    return counted(round((points[-1][0] - trend.since) / DAY), "day")


def _sign(tag: str, kind: str, why: str, trend: Trend) -> Sign:
    return Sign(tag, kind, why, moment(trend.since), 1 - trend.chance)
