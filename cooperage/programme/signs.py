"""Signs of trouble: what the book shows that somebody should look at, each with its reason."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from cooperage.book import Book, Cellar, Standing
from cooperage.book.facts import facts_of
from cooperage.book.log import losses
from cooperage.book.places import Outside
from cooperage.book.state import moment
from cooperage.programme.cautions import cautions_of_sign
from cooperage.programme.leaks import Leak
from cooperage.programme.liquid_signs import (
    CLASS_LINES,
    ClassLine,
    class_lines,
    climbing_va,
    falling_sulphite,
    moving_gravity,
    near_class_line,
    stronger,
)
from cooperage.programme.losses import LossRate, loss_rates
from cooperage.programme.readings import since_filled
from cooperage.programme.rounds import dip_that_disagrees, under_floor
from cooperage.programme.seen import seen_signs
from cooperage.programme.sign import Sign
from cooperage.programme.upkeep import upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, show

__all__ = ["CLASS_LINES", "ClassLine", "Sign", "signs"]

# Thresholds are common practice (no source): they decide what is shown, never what is written.
SURE_ENOUGH = 0.9
"""Posterior probability from which a leak is shown."""
ODD_ENOUGH = 0.95
"""Posterior probability, of a leak or of a slip together, from which one odd visit is shown."""
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
    class line.
    """
    cellar = cellar or book.cellar()
    rates = loss_rates(book, cellar) if rates is None else rates
    lines = _class_lines(book) if lines is None else lines
    found: dict[str, list[Sign]] = defaultdict(list)
    for standing in cellar.barrels:
        found[standing.tag] += [*_of_barrel(standing, cellar, units, lines), *_thirst(standing, rates, units)]
    read = since_filled(book, cellar)
    for sign in (
        *climbing_va(cellar, read, units),
        *moving_gravity(read, units),
        *falling_sulphite(read, units),
        *_litres_that_do_not_add_up(book, cellar, units),
    ):
        found[sign.vessel].append(sign)
    in_order = [sign for standing in cellar.in_walking_order() for sign in found[standing.tag]]
    return [replace(sign, cautions=cautions_of_sign(sign.kind, sign.vessel, cellar, units)) for sign in in_order]


def _class_lines(book: Book) -> Sequence[ClassLine]:
    with book.reading() as connection:
        return class_lines(facts_of(connection))


def _of_barrel(standing: Standing, cellar: Cellar, units: Units, lines: Sequence[ClassLine]) -> Iterator[Sign]:
    if standing.ml == 0:
        yield from _forgotten(standing)
        yield from seen_signs(standing)
        return
    molecular, floor = standing.molecular_so2, upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
    if molecular is not None and molecular < floor:
        yield Sign(standing.tag, "sulphite", under_floor(molecular, floor, units), standing.last("free_so2_mg_l"))
    for due in dip_that_disagrees(standing, units):
        yield Sign(standing.tag, "dip", due.why, due.due)
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
    care = (standing.days_since(what) for what in ("sniff", "rinse", "so2 gas", "sulphur wick", "steam"))
    seen = min([days, *(since for since in care if since is not None)])
    if seen > _FORGOTTEN * every:
        yield Sign(standing.tag, "empty", f"empty for {days:.0f} days, not smelled for {seen:.0f}")


def _thirst(standing: Standing, rates: Mapping[str, LossRate], units: Units) -> Iterator[Sign]:
    """Tell a leak where visits agree on one, and a single odd visit until the next one settles what it was."""
    rate = rates.get(standing.tag)
    if rate is None or rate.leak is None or standing.ml == 0:
        return
    leak = rate.leak
    if leak.probability >= SURE_ENOUGH:
        drinks, usual = (_monthly(a_day, units) for a_day in (rate.ml_per_day, rate.peers_ml_per_day))
        why = f"drinks {drinks} a month, barrels like it {usual}: look for a leak ({_sureness(leak.probability)})"
        yield Sign(standing.tag, "leak", why, moment(leak.since), leak.probability)
    elif is_odd_visit(leak) and not any(dip_that_disagrees(standing)):  # a dip speaks for itself
        lost, usual = (show(Quantity.VOLUME, round(ml), units) for ml in (leak.lost_ml, leak.expected_ml))
        why = f"had lost {lost} at the last visit, where {usual} was to be expected: a leak, or a slip of the pen?"
        yield Sign(standing.tag, "thirst", why, moment(rate.known_at), leak.probability + leak.odd)


def is_odd_visit(leak: Leak) -> bool:
    """Say whether the last visit is too much to be chance, whether it was a leak or a slip."""
    return leak.probability + leak.odd >= ODD_ENOUGH and leak.lost_ml > leak.expected_ml


def _monthly(ml_per_day: float, units: Units) -> str:
    return show(Quantity.VOLUME, round(ml_per_day * 30), units)


def _sureness(probability: float) -> str:
    return "over 99 % sure" if probability > 0.99 else f"{100 * probability:.0f} % sure"


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
            yield Sign(tag, "litres", why)
