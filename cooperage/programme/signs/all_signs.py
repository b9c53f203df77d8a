"""Signs of trouble: what the book shows that needs a look, each with its reason."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from cooperage.book import Book, Cellar, Standing
from cooperage.book.declared.places import Outside
from cooperage.book.facts import facts_of
from cooperage.book.log import losses
from cooperage.book.vessel_words import empty_words
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ageing.figures import FiguresNow
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import SURE_ENOUGH, LossRate
from cooperage.programme.signs.fermentation import fermentation_signs
from cooperage.programme.signs.leak import ODD_ENOUGH, is_odd_visit, leak_sign
from cooperage.programme.signs.liquid import (
    CLASS_LINES,
    ClassLine,
    class_lines,
    climbing_va,
    falling_sulphite,
    moving_gravity,
    near_class_line,
    stronger,
)
from cooperage.programme.signs.looks import seen_signs
from cooperage.programme.signs.sign import Sign
from cooperage.programme.signs.sulphite_falls import FREE_SO2
from cooperage.programme.signs.waiting import weighed, worst_first
from cooperage.programme.upkeep.cautions import cautions_of_sign
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.upkeep.dips import dip_gap_ml, dip_that_disagrees
from cooperage.programme.upkeep.verdicts import chance_under, last_cared_for, under_floor
from cooperage.units import DEFAULT, Quantity, Units, calendar_days, show

__all__ = ["CLASS_LINES", "ODD_ENOUGH", "SURE_ENOUGH", "ClassLine", "Sign", "is_odd_visit", "signs"]

# Thresholds are common practice (no source): they decide what is shown, never what is written.
_PARTLY_FULL = (0.05, 0.92)
_FORGOTTEN = 1.5
_ADDS_UP_SHARE, _ADDS_UP_ML = 0.01, 1000
_LOOK_BACK = timedelta(days=365)


def signs(
    book: Book,
    cellar: Cellar | None = None,
    rates: Mapping[str, LossRate] | None = None,
    units: Units = DEFAULT,
    lines: Sequence[ClassLine] | None = None,
) -> list[Sign]:
    """Look over the cellar, barrel by barrel in walking order, then tanks and kegs; reasons are worded in `units`.

    Found are leaks, low or fast-falling sulphite, climbing acidity, moving gravity, odd dips, litres that do not add
    up, barrels left partly full, empties forgotten, bungs and smells found wrong, strength given by the wood or near a
    class line; fermentations that stand still, or are too warm or too cold.
    """
    cellar = cellar or cellar_now(book)
    rates = loss_rates(book, cellar) if rates is None else rates
    lines = _class_lines(book) if lines is None else lines
    found: dict[str, list[Sign]] = defaultdict(list)
    for standing in cellar.barrels:
        found[standing.tag] += _of_one(standing, cellar, rates.get(standing.tag), units, lines)
    for sign in (
        *climbing_va(cellar, units),
        *moving_gravity(cellar, units),
        *falling_sulphite(cellar, FiguresNow(cellar).experience(FREE_SO2), units),
        *_litres_that_do_not_add_up(book, cellar, units),
        *fermentation_signs(book, cellar, units),
    ):
        found[sign.vessel].append(sign)
    in_order = [
        weighed(sign, standing, rates.get(standing.tag))
        for standing in cellar.in_walking_order()
        for sign in found[standing.tag]
    ]
    return [replace(sign, cautions=cautions_of_sign(sign.kind, sign.vessel, cellar, units)) for sign in in_order]


def signs_at(standing: Standing, cellar: Cellar, rate: LossRate | None = None, units: Units = DEFAULT) -> list[Sign]:
    """Look over one barrel alone, by its loss rate, the worst first.

    What shows only beside the others of the cellar is not found.
    """
    if not standing.vessel.is_barrel:
        return []
    found = _of_one(standing, cellar, rate, units, class_lines(standing.facts))
    return worst_first(weighed(sign, standing, rate) for sign in found)


def _of_one(
    standing: Standing, cellar: Cellar, rate: LossRate | None, units: Units, lines: Sequence[ClassLine]
) -> list[Sign]:
    return [*_of_barrel(standing, cellar, units, lines), *leak_sign(standing, rate, units)]


def _class_lines(book: Book) -> Sequence[ClassLine]:
    with book.reading() as connection:
        return class_lines(facts_of(connection))


def _of_barrel(standing: Standing, cellar: Cellar, units: Units, lines: Sequence[ClassLine]) -> Iterator[Sign]:
    if standing.ml == 0:
        yield from _forgotten(standing)
        yield from seen_signs(standing)
        return
    if (under := under_floor(standing, units)) is not None:
        floor = upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
        yield Sign(standing.tag, "sulphite", *under, chance_under(standing, floor))
    if (dip := dip_that_disagrees(standing, units)) is not None:
        yield Sign(standing.tag, "dip", dip[1], dip[0], about_l=dip_gap_ml(standing) / 1000)
    low, high = _PARTLY_FULL
    if low <= standing.ml / standing.vessel.capacity_ml <= high:
        air, mead = (show(Quantity.VOLUME, ml, units) for ml in (standing.headspace_ml, standing.ml))
        yield Sign(standing.tag, "partial", f"{air} of air above {mead}: top, gas or rack together")
    yield from seen_signs(standing)
    yield from stronger(standing, cellar, units)
    yield from near_class_line(standing, lines, units)


def _forgotten(standing: Standing) -> Iterator[Sign]:
    days, every = standing.days_empty, upkeep_of(standing).sniff_every_days or 0
    if days is None:
        return
    cared = last_cared_for(standing)
    seen = days if cared is None else (standing.at - cared) / timedelta(days=1)
    if seen > _FORGOTTEN * every:
        smelled = "since" if cared is None else f"for {calendar_days(cared, standing.at)}"
        yield Sign(standing.tag, "empty", f"{empty_words(standing)}, not smelled {smelled}")


def _litres_that_do_not_add_up(book: Book, cellar: Cellar, units: Units) -> Iterator[Sign]:
    """Find vessels whose gauging differences of a year come to more than 1 % or one litre, whichever is larger."""
    summed: dict[str, int] = defaultdict(int)
    with book.reading() as connection:
        for _, tag, place, ml in losses(connection, since=cellar.at - _LOOK_BACK, until=cellar.at):
            if place == Outside.GAUGING:
                summed[tag] += ml
    for tag, ml in summed.items():
        standing = cellar[tag]
        if not standing.is_retired and abs(ml) > max(_ADDS_UP_SHARE * standing.vessel.capacity_ml, _ADDS_UP_ML):
            which = "missing" if ml > 0 else "too much"
            why = (
                f"{show(Quantity.VOLUME, abs(ml), units)} {which} at gauging in the last 12 months, with no cause named"
            )
            yield Sign(tag, "litres", why, about_l=ml / 1000)
