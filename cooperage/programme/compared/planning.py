"""A trial across barrels is planned: blocks, treatments, sittings, and its power, before anything is kept."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from secrets import randbelow

from cooperage.book import Book, Cellar, Standing
from cooperage.book.declared.properties import PROPERTIES, canonical_property
from cooperage.errors import BadInput
from cooperage.programme.compared.blocking import block_of, kind_of, parted
from cooperage.programme.compared.kept import check_trial
from cooperage.programme.compared.layout import assign, numbered
from cooperage.programme.compared.power import LEVEL, BarrelSpread, TrialPower, of_layout
from cooperage.programme.compared.spread import spread_of_readings, spread_of_scores
from cooperage.programme.compared.trial import BarrelTrial, Sitting, StatedBefore, TrialBarrel, TrialTreatment
from cooperage.programme.search.marks import Marks
from cooperage.programme.several.named import vessels_named
from cooperage.tasting.flights.scales import OVERALL, bounds, scale_named
from cooperage.tasting.flights.stored import flights_in
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, Term, find_term, vocabulary_in
from cooperage.tasting.pulling import check_holds, usual_flight
from cooperage.units import DEFAULT, Quantity, Units, counted, local_day, read, read_spread

MOST_GLASSES = 8
"""Glasses that a panel tastes at one sitting before it tires (common practice, no source)."""
_MOST_SEED = 2**31


class NotABarrelToTry(BadInput):
    """A vessel in a trial across barrels that is no barrel."""

    def __init__(self, standing: Standing) -> None:
        super().__init__(f"{standing.tag} is a {standing.vessel.kind}, not a barrel; leave it out of the trial")


class TreatmentsUnclear(BadInput):
    """Treatments that are neither drawn nor given nor read off the barrels, or in more than one of these ways."""

    def __init__(self) -> None:
        super().__init__(
            "name the treatments to be drawn, or give each barrel its own, or name what of the barrels is compared, "
            "such as room or wood: one of the three"
        )


class TreatmentNotGiven(BadInput):
    """Barrels of a trial without a treatment of their own, or a treatment for a barrel that is not in it."""

    def __init__(self, tags: Sequence[str], *, is_in: bool) -> None:
        what = "no treatment is given for" if is_in else "a treatment is given for barrels that are not in the trial:"
        super().__init__(f"{what} {', '.join(tags)}; give each barrel of the trial one, as in B-001=heavy")


class NotADifference(BadInput):
    """A difference to find that no trial could, or that is none."""

    def __init__(self, given: float, widest: float) -> None:
        super().__init__(f"a difference of {given:g} cannot be asked for; give one over 0 and up to {widest:g}")


@dataclass(frozen=True, slots=True)
class AskedOfTrial:
    """What a trial is asked for. Treatments are named to be drawn, or `by` names what of a barrel is one.

    `given` are names of treatments by tag, where they are not drawn. `block_by` names what sets blocks apart; `glasses`
    is the most that one sitting has; without `scale` that of the attribute, or of the last flight. `tasters` are those
    of the last flight where none is named, `days` today; a code is made from the date. `difference` is as it is typed.
    """

    question: str
    code: str = ""
    treatments: Sequence[TrialTreatment] = ()
    by: str = ""
    given: Mapping[str, str] = field(default_factory=dict)
    block_by: Sequence[str] = ()
    measure: str = OVERALL
    scale: str = ""
    days: Sequence[date] = ()
    tasters: Sequence[str] = ()
    glasses: int = MOST_GLASSES
    difference: str = ""
    level: float = LEVEL
    seed: int | None = None
    hand: str = ""


@dataclass(frozen=True, slots=True)
class PlannedTrial:
    """A trial that is not kept yet, what it can find, and what is to be thought of before it is."""

    trial: BarrelTrial
    power: TrialPower
    notes: tuple[str, ...]


def barrels_named(text: str, cellar: Cellar, marks: Callable[[], Marks], units: Units = DEFAULT) -> list[Standing]:
    """List the barrels that a text names: tags, a series, or words, which leave vessels out that are no barrels.

    Raises NoSuchVessel, NotASeries, NothingNamed, BadQuery, NotABarrelToTry.
    """
    found = vessels_named(text, cellar, marks, units)
    typed = text.casefold()
    return [each for each in found if each.vessel.is_barrel or each.tag.casefold() in typed]


def plan_trial(
    book: Book, cellar: Cellar, barrels: Sequence[Standing], asked: AskedOfTrial, units: Units = DEFAULT
) -> PlannedTrial:
    """Plan a trial of these barrels; nothing is written. `cellar` is that of `cellar_now`.

    Raises NothingToTaste, NotABarrelToTry, TreatmentsUnclear, TreatmentNotGiven, NotABlocking, TooFewTrialBarrels,
    TreatmentsApart, NotADifference, NoSuchTerm, NotAScale, BadInput.
    """
    for each in barrels:
        if not each.vessel.is_barrel:
            raise NotABarrelToTry(each)
    check_holds(barrels)
    blocks = [block_of(each, asked.block_by, units) for each in barrels]
    treatments, given, seed = _treated(barrels, blocks, asked, units)
    with book.reading() as connection:
        usual = usual_flight(flights_in(connection))
        measure, scale = _measured(asked, vocabulary_in(connection), usual.scale)
        spread = spread_of_scores(book, connection, measure, scale) if scale else spread_of_readings(cellar, measure)
    tasters = tuple(asked.tasters or usual.tasters) if scale else ()
    if scale and not tasters:
        raise BadInput("no taster is named, and no flight shows who tasted last; name who is to taste")
    today = local_day(book.now())
    days = sorted({*asked.days} or {today})
    trial = BarrelTrial(
        id="",
        code=asked.code.strip() or f"T{today:%y%m%d}",
        question=asked.question.strip(),
        measure=measure,
        scale=scale,
        treatments=treatments,
        barrels=tuple(map(TrialBarrel, [each.tag for each in barrels], blocks, given)),
        blocked_by=tuple(asked.block_by),
        seed=seed,
        sittings=tuple(Sitting(day, part) for day in days for part in _parts(blocks, asked.glasses, scale)),
        tasters=tasters,
        difference=_difference(asked.difference, measure, scale, units),
        level=asked.level,
        stated=StatedBefore(spread, None, 0.0),
        hand=asked.hand,
        written_at=book.now(),
    )
    check_trial(trial)
    power = power_of(trial)
    found = None if trial.difference is None else power.power(trial.difference)[0]
    trial = replace(trial, stated=StatedBefore(spread, found, power.least()[0]))
    return PlannedTrial(trial, power, tuple(_notes(trial, barrels, asked)))


def power_of(trial: BarrelTrial, spread: BarrelSpread | None = None) -> TrialPower:
    """Return what a trial can find by the spread that was stated, or by another."""
    layout = trial.layout.check()
    days = len({each.day for each in trial.sittings})
    each, tasters = layout.barrels / layout.treatments, max(1, len(trial.tasters))
    comparing = of_layout(layout, trial.level)
    return TrialPower(comparing, spread or trial.stated.spread, days, tasters, each, layout.blocks)


def _treated(
    barrels: Sequence[Standing], blocks: Sequence[str], asked: AskedOfTrial, units: Units
) -> tuple[tuple[TrialTreatment, ...], tuple[int, ...], int | None]:
    """Return the treatments, the number of each barrel's, and the seed they were drawn with; None if they were not."""
    if asked.by:
        if asked.treatments or asked.given:
            raise TreatmentsUnclear
        kinds = [kind_of(each, asked.by, units) for each in barrels]
        return tuple(TrialTreatment(kind) for kind in dict.fromkeys(kinds)), numbered(kinds), None
    if asked.given:
        return _as_given(barrels, asked)
    if not asked.treatments:
        raise TreatmentsUnclear
    seed = randbelow(_MOST_SEED) if asked.seed is None else asked.seed
    return tuple(asked.treatments), assign(blocks, len(asked.treatments), seed).treatment, seed


def _as_given(
    barrels: Sequence[Standing], asked: AskedOfTrial
) -> tuple[tuple[TrialTreatment, ...], tuple[int, ...], None]:
    names = {tag.strip().casefold(): name.strip() for tag, name in asked.given.items()}
    tags = [each.tag for each in barrels]
    if missing := [tag for tag in tags if tag.casefold() not in names]:
        raise TreatmentNotGiven(missing, is_in=True)
    if strange := [tag for tag in asked.given if tag.strip().casefold() not in {each.casefold() for each in tags}]:
        raise TreatmentNotGiven(strange, is_in=False)
    given = [names[tag.casefold()] for tag in tags]
    words = {each.name.casefold(): each for each in asked.treatments}
    in_use = dict.fromkeys(name.casefold() for name in given)
    known = [words.get(name) or TrialTreatment(next(g for g in given if g.casefold() == name)) for name in in_use]
    return tuple(known), numbered([name.casefold() for name in given]), None


def _measured(asked: AskedOfTrial, terms: Sequence[Term], usual_scale: str) -> tuple[str, str]:
    """Return what is measured and its scale; no scale for a property that is read."""
    name = asked.measure.strip()
    if name.casefold() == OVERALL:
        return OVERALL, scale_named(asked.scale or usual_scale)
    if canonical_property(name) in PROPERTIES:
        return canonical_property(name), ""
    term = find_term(terms, ATTRIBUTE, name)
    return term.name, scale_named(asked.scale or term.scale)


def _difference(text: str, measure: str, scale: str, units: Units) -> float | None:
    """Return a difference as it is typed, in points or in the property's unit; None where none is."""
    if not text.strip():
        return None
    if scale:
        low, high = bounds(scale)
        difference, widest = float(read(Quantity.NUMBER, text, units)), high - low
    else:
        low, high = PROPERTIES[measure].usual
        difference = read_spread(PROPERTIES[measure].quantity, text, (low + high) / 2, units)
        widest = PROPERTIES[measure].possible[1] - PROPERTIES[measure].possible[0]
    if not 0 < difference <= widest:
        raise NotADifference(difference, widest)
    return difference


def _parts(blocks: Sequence[str], glasses: int, scale: str) -> list[tuple[str, ...]]:
    if glasses < 2:
        raise BadInput(f"a flight of {glasses} glasses compares nothing; give 2 or more")
    return parted(blocks, glasses) if scale else [tuple(dict.fromkeys(blocks))]


def _notes(trial: BarrelTrial, barrels: Sequence[Standing], asked: AskedOfTrial) -> Iterator[str]:
    """Yield what is to be thought of before a trial is begun."""
    if trial.seed is None:
        yield (
            "The treatments were not drawn at random, so barrels of different treatments may differ in other things "
            "too, and what is found may be those."
        )
    lots = Counter(next(iter(each.lots), "") for each in barrels)
    if len(lots) > 1 and "lot" not in asked.block_by:
        held = f"The barrels hold {len(lots)} lots ({', '.join(lots)})"
        yield f"{held}; the power is that of one. Compare those alike in lot."
    layout = trial.layout
    if layout.efficiency < 1 - 1e-9:
        short = counted(layout.short_blocks, "block has", "blocks have")
        why = f"{short} not" if layout.blocks > 1 else "The barrels are not shared out to"
        yield f"{why} every treatment equally often: {100 * layout.efficiency:.0f} % of the sharpness is kept."
    sizes = Counter(each.block for each in trial.barrels)
    largest = max(sum(sizes[block] for block in each.blocks) for each in trial.sittings)
    if trial.is_tasted and largest > asked.glasses:
        yield f"One sitting has {largest} glasses, as a block is tasted whole; smaller blocks would tire a panel less."
