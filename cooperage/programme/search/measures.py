"""What the racks can be coloured by: one measure at a time, in seven steps cut at round values.

A measure is one line of `MEASURES`. Steps are colours; the figure itself stands beside them.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import FULL_WITHIN_ML
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.search.marks import Marks
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.wood.left import effects_now
from cooperage.tasting.vessels import last_scores, on_one_scale
from cooperage.units import DEFAULT, Quantity, Units, show
from cooperage.units.showing import unit_written

UNKNOWN, NOTHING, EMPTY, COMING = "?", "–", "empty", "…"
"""What stands for a figure: not known, no such figure of such a vessel, nothing in it, being calculated."""
FULL = "full"

STEPS = 7
FIGURE_WIDTH = 4
"""Columns that the figure of a measure takes; a word may take more."""


@dataclass(frozen=True, slots=True)
class MeasureBasis:
    """What measures are read from: marks, loss rates, panel scores of 100 and wood left [% of new], by tag."""

    marks: Marks = field(default_factory=Marks)
    rates: Mapping[str, LossRate] = field(default_factory=dict)
    scores: Mapping[str, float] = field(default_factory=dict)
    wood: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its name, what it is about, its figure of a vessel in the unit of `quantity`, its six cuts.

    `figure` returns None where it is unknown. `limit` is a vessel's own, `limit_word` what kind of limit that is; the
    usual ones lie on a cut. `unit` is for what has no unit of a quantity. Without cuts it is a word (`word`). What
    is `of_barrels` is not there for other vessels. `unknown` is why it is not known where it is not.
    """

    name: str
    about: str
    quantity: Quantity = Quantity.NUMBER
    digits: int | None = None
    cuts: tuple[float, ...] = ()
    figure: Callable[[Standing, MeasureBasis], float | None] = lambda _standing, _known: None
    limit: Callable[[Standing], float | None] = lambda _standing: None
    limit_word: str = ""
    unit: str = ""
    word: Callable[[Standing], str] | None = None
    of_barrels: bool = True
    unknown: str = "not known"

    def describe(self, units: Units = DEFAULT) -> str:
        """Return its unit and what it is about: "mg/L, molecular, as it is today"."""
        unit = self.unit or ("" if self.word else unit_written(self.quantity, units))
        return ", ".join(part for part in (unit, self.about) if part)

    def show(self, value: float | None, units: Units = DEFAULT) -> str:
        """Return a value of it as text, without its unit."""
        return show(self.quantity, value, units, with_unit=False, digits=self.digits)

    def step(self, value: float) -> int:
        """Return the step that a value belongs to, 1 to 7: a cut is the foot of the step above it."""
        return bisect_right(self.cuts, value) + 1

    def steps(self, units: Units = DEFAULT) -> list[str]:
        """Return the words of the seven steps: "<0.20", "0.20" ... "0.70+"; none for a word."""
        feet = [show(self.quantity, cut, units, with_unit=False, digits=self.digits) for cut in self.cuts]
        return [f"<{feet[0]}", *feet[:-1], f"{feet[-1]}+"] if feet else []

    def usual_limit(self, standings: Iterable[Standing], units: Units = DEFAULT) -> str:
        """Return the limit most of these barrels have, as text: "floor 0.40"; nothing where there is none."""
        limits = Counter(self.limit(standing) for standing in standings if standing.vessel.is_barrel)
        limits.pop(None, None)
        return f"{self.limit_word} {self.show(limits.most_common(1)[0][0], units)}" if limits else ""


@dataclass(frozen=True, slots=True)
class PlateFigure:
    """A measure at one vessel as text, and its step from 1 to 7; no step where there is no figure."""

    text: str
    step: int | None = None

    @property
    def is_figure(self) -> bool:
        """Return True if it is a figure or a word of the vessel, not what stands for one."""
        return self.text not in (UNKNOWN, NOTHING, EMPTY, COMING)


Measured = Mapping[str, Mapping[str, PlateFigure]]
"""Each measure by its name, and of each vessel by its tag."""


def _short(standing: Standing, known: MeasureBasis) -> float | None:
    return known.marks.short_ml(standing)


def _molecular(standing: Standing, _known: MeasureBasis) -> float | None:
    return standing.molecular_figure().value


def _floor(standing: Standing) -> float | None:
    return upkeep_of(standing).molecular_so2_floor_mg_l


def _loss(standing: Standing, known: MeasureBasis) -> float | None:
    rate = known.rates.get(standing.tag)
    return None if rate is None else rate.times_peers


def _acidity(standing: Standing, _known: MeasureBasis) -> float | None:
    return standing.figure("va_g_l").value


def _ceiling(standing: Standing) -> float | None:
    return upkeep_of(standing).va_ceiling_g_l


def _score(standing: Standing, known: MeasureBasis) -> float | None:
    return known.scores.get(standing.tag)


def _age(standing: Standing, _known: MeasureBasis) -> float | None:
    return standing.calendar_days_in_wood


def _wood(standing: Standing, known: MeasureBasis) -> float | None:
    return known.wood.get(standing.tag)


def _strength(standing: Standing, _known: MeasureBasis) -> float | None:
    return standing.figure("abv").value


def _ready(standing: Standing, known: MeasureBasis) -> float | None:
    found = known.marks.ready.get(standing.tag)
    return None if found is None or found.chance is None else 100 * found.chance


def _lot(standing: Standing) -> str:
    return next(iter(standing.lots), UNKNOWN)


MEASURES: tuple[Measure, ...] = (
    Measure("short of full", "by now", Quantity.VOLUME, None, (300, 600, 1000, 1500, 2000, 3000), _short),
    Measure(
        "SO2 now", "molecular, as it is today", Quantity.SULPHITE, 2, (0.2, 0.3, 0.4, 0.5, 0.6, 0.7), _molecular,
        _floor, "floor", of_barrels=False,
    ),
    Measure("loss", "against barrels like it", Quantity.NUMBER, 1, (0.6, 0.8, 1.0, 1.2, 1.5, 2.0), _loss, unit="times"),
    Measure(
        "volatile acidity", "as it is today", Quantity.ACID, 2, (0.3, 0.4, 0.5, 0.6, 0.7, 0.8), _acidity, _ceiling,
        "limit", of_barrels=False,
    ),
    Measure(
        "score", "the panel's last", Quantity.NUMBER, 0, (40, 50, 60, 70, 80, 90), _score, unit="of 100",
        unknown="no score",
    ),
    Measure("ready", "chance now, by the cellar's definition", Quantity.PERCENT, 0, (5, 15, 30, 50, 70, 90), _ready),
    Measure("age in wood", "of this fill", Quantity.DAYS, 0, (90, 180, 270, 365, 540, 730), _age, unit="days"),
    Measure(
        "wood left", "of what it gave new", Quantity.PERCENT, 0, (5, 10, 25, 40, 60, 80), _wood,
        unknown="fills before it came not known",
    ),
    Measure("strength", "as it is today", Quantity.STRENGTH, 1, (10, 11, 12, 13, 14, 15), _strength, of_barrels=False),
    Measure("lot", "the largest part", word=_lot, of_barrels=False),
)  # fmt: skip
"""The measures in the order in which they are shown one after the other; limits and cuts are common practice (no
source)."""


def measure(cellar: Cellar, of: Measure, known: MeasureBasis | None, units: Units = DEFAULT) -> dict[str, PlateFigure]:
    """Return a measure at every vessel by tag; what has to be calculated is still coming until it is `known`."""
    return {standing.tag: _shown(standing, of, known, units) for standing in cellar}


def _shown(standing: Standing, of: Measure, known: MeasureBasis | None, units: Units) -> PlateFigure:
    if standing.ml == 0:
        return PlateFigure(EMPTY)
    if of.word is not None:
        return PlateFigure(of.word(standing))
    if of.quantity is Quantity.VOLUME and not standing.vessel.is_barrel:
        return _percent(standing, known)  # only a barrel is kept full
    if of.of_barrels and not standing.vessel.is_barrel:
        return PlateFigure(NOTHING)
    if known is None:
        return PlateFigure(COMING)
    value = of.figure(standing, known)
    if value is None:
        return PlateFigure(UNKNOWN)
    if of.quantity is Quantity.VOLUME and value < FULL_WITHIN_ML:
        return PlateFigure(FULL, of.step(value))
    text = of.show(value, units)
    is_long = len(text) > FIGURE_WIDTH and of.quantity is Quantity.VOLUME
    return _percent(standing, known) if is_long else PlateFigure(text, of.step(value))


def _percent(standing: Standing, known: MeasureBasis | None) -> PlateFigure:
    """Return how full a vessel is; as the book has it until more is known."""
    marks = Marks() if known is None else known.marks
    return PlateFigure(f"{int(marks.percent_full(standing))}%")


def measure_all(book: Book, cellar: Cellar, marks: Marks, units: Units = DEFAULT) -> Measured:
    """Return every measure of every vessel; slow, so for a thread."""
    wood = {tag: effect.percent for tag, effect in effects_now(book, cellar).items()}
    known = MeasureBasis(marks, loss_rates(book, cellar), on_one_scale(last_scores(book)), wood)
    return {of.name: measure(cellar, of, known, units) for of in MEASURES}


def measure_first(cellar: Cellar, units: Units = DEFAULT) -> Measured:
    """Return what is known of every measure before anything is calculated; the rest is still coming."""
    return {of.name: measure(cellar, of, None, units) for of in MEASURES}


def width_of(shown: Iterable[PlateFigure]) -> int:
    """Return how many columns figures take: `FIGURE_WIDTH`, or the longest word, ahead of what is still coming."""
    return max((FIGURE_WIDTH, *(len(each.text) for each in shown if each.is_figure)))


def after(name: str, measures: Sequence[Measure] = MEASURES) -> Measure:
    """Return the measure that comes after one of this name, the first after the last."""
    names = [each.name for each in measures]
    return measures[(names.index(name) + 1) % len(measures)]
