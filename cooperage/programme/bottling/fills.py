"""Fill checks of a run: from weights or volumes to volumes at 20 °C, and their statistics against the rules."""

from collections.abc import Sequence

from cooperage.book import Book
from cooperage.liquid.fermented import density_of
from cooperage.liquid.warmed import volume_against_20c
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.bottling.errors import MeadNotKnown
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling_risks.fill import (
    NoPlan,
    check_each,
    count_below,
    fill_sample,
    tolerable_error,
    volume_from_weight,
)
from cooperage.programme.bottling_risks.mixed import mixed_figure
from cooperage.programme.rules.figure import RuleUnknown
from cooperage.programme.rules.profile import profile_of
from cooperage.programme.rules.span import exactly
from cooperage.units import Quantity, Units, counted, local_day, show

WATER_20C = 998.20123
"""Density of water at 20 °C [kg/m3] (OIML R 22)."""


def volumes_by_weight(
    book: Book,
    run: BottlingRun,
    gross_g: Sequence[float],
    tare_g: float,
    *,
    celsius: float | None = None,
    gravity: float | None = None,
) -> list[float]:
    """Return volumes at 20 °C [ml] of bottles by weight in air, less what they weigh empty [g].

    The density is that of the mead's strength and sugar now, or of a gravity 20/20 °C that was measured, at its
    temperature now, 20 °C where it is not known. Raises MeadNotKnown.
    """
    abv, sugar, warm = _figures(book, run)
    if gravity is not None:
        at_20c = gravity * WATER_20C
    elif abv is None or sugar is None:
        raise MeadNotKnown
    else:
        at_20c = float(density_of(abv, sugar))
    stretch = _stretch(abv, sugar, warm if celsius is None else celsius)
    return [volume_from_weight(each, tare_g, at_20c / stretch) / stretch for each in gross_g]


def volumes_at_20c(book: Book, run: BottlingRun, volumes_ml: Sequence[float], celsius: float | None) -> list[float]:
    """Return volumes [ml] that were measured at a temperature as they are at 20 °C; without one they are of 20 °C."""
    abv, sugar, _ = _figures(book, run)
    stretch = 1.0 if celsius is None else _stretch(abv, sugar, celsius)
    return [each / stretch for each in volumes_ml]


def _figures(book: Book, run: BottlingRun) -> tuple[float | None, float | None, float | None]:
    cellar = cellar_now(book)
    standings = [standing for tag in run.vessels if (standing := cellar[tag]).ml]
    if not standings:
        return None, None, None
    abv, sugar, warm = (mixed_figure(cellar, standings, name).value for name in ("abv", "sugar_g_l", "temperature_c"))
    return abv, sugar, warm


def _stretch(abv: float | None, sugar: float | None, celsius: float | None) -> float:
    """Return the volume at a temperature of what is 1 at 20 °C; a mead whose strength is not known is taken as 12 %."""
    return 1.0 if celsius is None else float(volume_against_20c(12.0 if abv is None else abv, sugar or 0.0, celsius))


def fill_words(book: Book, run: BottlingRun, bottle_ml: int, units: Units) -> list[str]:
    """Return what the fill checks of a size show so far; empty where there are none."""
    found = run.checked(bottle_ml)
    if not found:
        return []
    lines = [f"fill of {bottle_ml} mL: {counted(len(found), 'bottle')} checked, shortest {_ml(min(found), units)}"]
    if len(found) > 1:
        sample = fill_sample(found)
        over = "over" if sample.mean_ml >= bottle_ml else "under"
        lines[0] += (
            f", mean {_ml(sample.mean_ml, units)} ({_ml(abs(sample.mean_ml - bottle_ml), units)} {over}), "
            f"spread {_ml(sample.s_ml, units)}"
        )
    return [*lines, _against_rules(book, found, bottle_ml, units)]


def _against_rules(book: Book, found: Sequence[float], bottle_ml: int, units: Units) -> str:
    """Return how the bottles lie against the error that the rules tolerate of one."""
    with book.reading() as connection:
        rules = profile_of(connection, local_day(book.now()))
    try:
        try:
            error = tolerable_error(rules, bottle_ml)
        except NoPlan:
            each = check_each(rules, found, bottle_ml)
            limits = f"{_ml(float(each.low_ml), units)} to {_ml(float(each.high_ml), units)}"
            return f"{rules.name} rules let a bottle hold {limits}: {len(each.outside)} of {len(found)} outside"
    except (NoPlan, RuleUnknown) as gap:
        return str(gap)
    short = count_below(found, exactly(bottle_ml) - error)
    return f"tolerable error {_ml(float(error), units)} ({rules.name} rules): {short} of {len(found)} short by more"


def _ml(value: float, units: Units) -> str:
    return f"{show(Quantity.NUMBER, value, units, digits=1)} mL"
