"""Fill checks of a run: from weights or volumes to volumes at 20 °C, and their statistics against the rules."""

from collections.abc import Sequence

from cooperage.book import Book
from cooperage.liquid.fermented import density_of
from cooperage.liquid.warmed import volume_against_20c
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.bottling.errors import MeadNotKnown
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling_risks.fill import fill_sample, volume_from_weight
from cooperage.programme.bottling_risks.judged import (
    FillAsked,
    fill_lines,
    judge_fill,
    show_ml,
    target_lines,
    wrong_fill_lines,
)
from cooperage.programme.bottling_risks.mixed import mixed_figure
from cooperage.programme.bottling_risks.passed import asked_of
from cooperage.programme.rules.profile import Profile, profile_of
from cooperage.units import Units, local_day

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


def before_words(
    book: Book, run: BottlingRun, bottle_ml: int, earlier: Sequence[BottlingRun], units: Units
) -> list[str]:
    """Return what the line needs before its first check, by how much it varied in the last run of a size.

    `earlier` are other runs, oldest first; empty where none was checked, or the rules ask no mean of a line.
    """
    last = next((each for each in reversed(earlier) if len(each.checked(bottle_ml)) > 1), None)
    if last is None:
        return []
    spread = fill_sample(last.checked(bottle_ml)).s_ml
    found = judge_fill(_rules(book, run), FillAsked(bottle_ml, spread_ml=spread))
    varied = f"fill of {bottle_ml} mL: not checked yet; in {last.code} it varied by {show_ml(spread, units)}"
    return [f"{varied}: {words}" for words in target_lines(found, units)]


def check_words(book: Book, run: BottlingRun, bottle_ml: int, units: Units) -> list[str]:
    """Return what the fill checks of a size show so far, by the rules the run was opened by; empty where none is."""
    found = run.checked(bottle_ml)
    return fill_lines(judge_fill(_rules(book, run), FillAsked(bottle_ml, found)), units) if found else []


def check_words_marked(book: Book, run: BottlingRun, units: Units) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return what the fill checks of every size show, and which of these lines name something wrong."""
    checked = [(size, found) for size in run.sizes if (found := run.checked(size))]
    if not checked:
        return (), frozenset()
    rules = _rules(book, run)
    judged = [judge_fill(rules, FillAsked(size, found)) for size, found in checked]
    wrong = frozenset(line for each in judged for line in wrong_fill_lines(each, units))
    return tuple(line for each in judged for line in fill_lines(each, units)), wrong


def _rules(book: Book, run: BottlingRun) -> Profile:
    with book.reading() as connection:
        asked = asked_of(connection, run.risks_id)
        return profile_of(connection, local_day(book.now()), asked.get("profile"))
