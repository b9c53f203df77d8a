"""The risks of a bottling, before the first bottle: what is known now, how surely, and what would settle it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cooperage.book import Book, Standing
from cooperage.book.dangers.lingering import DRY_G_L, YEAST_GIVES_UP_ABV, is_stabilised
from cooperage.errors import BadInput
from cooperage.liquid.refermentation import bottle_gauge_bar, co2_from_sugar, co2_volumes
from cooperage.programme.ageing.aged import AgedCellar, cellar_now
from cooperage.programme.bottling_risks.mixed import Mixed, mixed_figure, mixed_molecular
from cooperage.programme.bottling_risks.read import CLARITY, CO2, HAZE, read_risk
from cooperage.programme.bottling_risks.risk import Risk, RiskState
from cooperage.programme.bottling_risks.spirit import spirit_on_way, spirit_words
from cooperage.programme.rules.figure import with_decimal
from cooperage.programme.rules.profile import Profile, profile_of
from cooperage.programme.rules.strength import LabelCheck, check_label, nearest_line
from cooperage.units import DEFAULT, Quantity, Units, local_day, show

NEAR_LINE = 0.2
"""Within so many points of a class line strength must be measured (common practice, no source)."""
MOLECULAR_LEAST = 0.5
"""Molecular SO2 wanted at bottling [mg/L] (common practice, no source)."""
FRESH_DAYS = 14
"""A figure older than so is measured again before it is bottled (common practice, no source)."""
_G_L_PER_ABV = 17.0  # sugar that makes one per cent of alcohol (common practice, no source)
_MOST_BAR = 10  # more than any bottle is for: those of sparkling wine hold 5 to 6 bar
LIKELY = 0.1
"""A chance from which a figure is due for a reading (common practice, no source)."""


class NothingToBottle(BadInput):
    """A vessel that is to be bottled and holds nothing."""

    def __init__(self, tag: str) -> None:
        super().__init__(f"{tag} is empty; name vessels that hold what is to be bottled")


@dataclass(frozen=True, slots=True)
class _Bottling:
    """What is asked about: the vessels, their mix, the bottles, the label, and the rules."""

    cellar: AgedCellar
    standings: Sequence[Standing]
    profile: Profile
    bottles: Mapping[int, int | None]
    label: float | None
    units: Units
    spirit: str

    def now(self, name: str) -> Mixed:
        return mixed_figure(self.cellar, self.standings, name)


def risks(
    book: Book,
    vessels: Sequence[str],
    bottles: Mapping[int, int | None],
    *,
    label: float | None = None,
    profile: str | None = None,
    at: datetime | None = None,
    units: Units = DEFAULT,
) -> list[Risk]:
    """Return the risks of bottling some vessels together, the troubles first.

    `bottles` are how many are wanted by size [mL], None for as many as there are; `label` is the strength to be stated
    [% vol]. Raises NoSuchVessel, NothingToBottle, NoSuchProfile.
    """
    cellar = cellar_now(book, at)
    standings = [cellar[tag] for tag in dict.fromkeys(vessels)]
    for each in standings:
        if each.ml == 0:
            raise NothingToBottle(each.tag)
    with book.reading() as connection:
        rules = profile_of(connection, local_day(cellar.at), profile)
        spirit = spirit_words(spirit_on_way(connection, cellar, standings), units)
    asked = _Bottling(cellar, standings, rules, bottles, label, units, spirit)
    order = list(RiskState)
    return sorted(_each(asked), key=lambda risk: order.index(risk.state))


def _each(asked: _Bottling) -> Iterator[Risk]:
    yield _yeast(asked)
    yield _strength(asked)
    if asked.label is not None:
        yield _label(asked, asked.label)
    yield _free(asked)
    yield _molecular(asked)
    yield _limited(asked, "total SO2", "total_so2_mg_l", Quantity.SULPHITE, "total-so2")
    yield _statement(asked)
    yield _limited(asked, "volatile acidity", "va_g_l", Quantity.ACID, "volatile-acidity")
    for of, law in ((CO2, "co2-still"), (CLARITY, ""), (HAZE, "")):
        yield read_risk(asked.cellar, asked.standings, of, asked.profile.find(law) if law else None, asked.units)
    yield _temperature(asked)
    yield _volume(asked)


def _yeast(asked: _Bottling) -> Risk:
    sugar, abv = asked.now("sugar_g_l"), asked.now("abv")
    shown: dict[str, Any] = {
        "quantity": Quantity.SUGAR,
        "value": sugar.value,
        "low": sugar.band[0],
        "high": sugar.band[1],
    }
    shown |= {"age_days": sugar.age_days, "limit": f"{show(Quantity.SUGAR, DRY_G_L, asked.units)} or stabilised"}
    settled = "sorbate with sulphite, sterile filtration, pasteurising, or gravity unchanged for 14 days at 20 °C"
    if abv.value is not None and abv.value >= YEAST_GIVES_UP_ABV:
        return Risk("living yeast", RiskState.FINE, "stronger than yeast can work", **shown)
    if all(is_stabilised(each.state) for each in asked.standings):
        return Risk("living yeast", RiskState.FINE, "stabilised by the book", **shown)
    if sugar.value is None:
        why = "sugar unknown, and yeast that nothing has stopped"
        return Risk("living yeast", RiskState.TROUBLE, why, settled, **shown)
    chance = sugar.chance(DRY_G_L, 1)
    if chance is not None and chance < LIKELY:
        return Risk("living yeast", RiskState.FINE, "dry", chance=chance, **shown)
    why = f"not stabilised; {_pressure_words(sugar.value, abv.value, asked.units)}, and glass can burst"
    return Risk("living yeast", RiskState.TROUBLE, why, settled, chance=chance, **shown)


def _pressure_words(sugar: float, abv: float | None, units: Units) -> str:
    """Return what pressure sugar [g/L] can make, by as much of it as yeast can ferment before it gives up."""
    most = sugar if abv is None else min(sugar, (YEAST_GIVES_UP_ABV - abv) * _G_L_PER_ABV)
    bar = bottle_gauge_bar(co2_from_sugar(most))
    shown = (
        f"about {show(Quantity.NUMBER, bar, units, digits=1)} bar" if bar < _MOST_BAR else f"more than {_MOST_BAR} bar"
    )
    volumes = show(Quantity.NUMBER, co2_volumes(co2_from_sugar(most)), units, digits=1)
    return f"if it ferments {shown} at 20 °C, {volumes} volumes of CO2"


def _strength(asked: _Bottling) -> Risk:
    abv = asked.now("abv")
    low, high = abv.band
    line = None if abv.value is None else nearest_line(asked.profile, abv.value)
    is_near = line is not None and abv.value is not None and abs(abv.value - float(line)) <= NEAR_LINE
    chance = None if line is None or abv.value is None else abv.chance(float(line), -1 if abv.value > line else 1)
    limit = "" if line is None else f"class at {with_decimal(str(line), asked.units)}"
    must = asked.spirit or (with_decimal(f"within {NEAR_LINE:g} of the line at {line}", asked.units) if is_near else "")
    state, why = RiskState.FINE, "measured" if abv.is_read else "calculated, far from a line"
    if abv.value is None:
        state, why = RiskState.TROUBLE, "not known"
    elif must and not (abv.is_read and (abv.age_days or 0) <= FRESH_DAYS):
        state, why = RiskState.TROUBLE, f"{must}: it must be measured, not calculated"
    elif chance is not None and chance >= LIKELY:
        state, why = RiskState.DUE, "it may be on the other side of the line"
    settled = (
        ""
        if state is RiskState.FINE
        else "measure it" + (" once they are together" if len(asked.standings) > 1 else "")
    )
    source = "" if line is None else f"{asked.profile.name} rules; check with your authority"
    return Risk(
        "strength", state, why, settled, Quantity.STRENGTH, abv.value, low, high, abv.age_days, limit, chance, source
    )


def _label(asked: _Bottling, stated: float) -> Risk:
    abv = asked.now("abv")
    if abv.value is None:
        return Risk("label strength", RiskState.TROUBLE, "strength not known", "measure it")
    check = check_label(asked.profile, stated, abv.value)
    wrong = _chance_mislabelled(asked.profile, abv, stated, check)
    known = check.tolerance if check.tolerance is not None and check.tolerance.is_known else None
    limit = "not known" if known is None else with_decimal(f"{stated:g} ± {known.number}", asked.units)
    state, settled = RiskState.FINE, ""
    if check.is_ok is False:
        state, settled = RiskState.TROUBLE, "another label, or another blend"
    elif check.is_ok is None:
        state, settled = RiskState.DUE, "ask, and enter it: `cooperage rules set`"
    elif (wrong or 0.0) >= LIKELY:
        state, settled = RiskState.DUE, "measure it"
    source = "" if check.tolerance is None else check.tolerance.citation
    return Risk(
        "label strength",
        state,
        with_decimal(check.words, asked.units),
        settled,
        limit=limit,
        chance=wrong,
        source=source,
    )


def _chance_mislabelled(profile: Profile, abv: Mixed, stated: float, check: LabelCheck) -> float | None:
    """Return the chance that the strength is outside the tolerance or across a line that the label is not across."""
    if check.tolerance is None or not check.tolerance.is_known:
        return None
    points = float(check.tolerance.number)
    bounds = [float(line.number) for line in profile.of_rule("label-line") if line.is_known]
    # A strength that just meets a line is on one side of it with the label; the chance is of what lies between.
    low = max([stated - points, *(line for line in bounds if line < stated)])
    high = min([stated + points, *(line for line in bounds if line >= stated)])
    below, above = abv.chance(low, -1), abv.chance(high, 1)
    return None if below is None or above is None else min(1.0, below + above)


def _free(asked: _Bottling) -> Risk:
    free = asked.now("free_so2_mg_l")
    is_old = not free.is_read or (free.age_days or 0) > FRESH_DAYS
    why = "never measured here" if free.age_days is None else "aged since it was measured" if is_old else "measured"
    state = RiskState.DUE if is_old or free.value is None else RiskState.FINE
    settled = "measure, then dose" if state is RiskState.DUE else ""
    return Risk("free SO2", state, why, settled, Quantity.SULPHITE, free.value, *free.band, free.age_days)


def _molecular(asked: _Bottling) -> Risk:
    found = mixed_molecular(asked.cellar, asked.standings)
    chance = found.chance(MOLECULAR_LEAST, -1)
    is_fine = chance is not None and chance < LIKELY
    why = "free SO2, pH or strength not known" if found.value is None else "from free SO2 and pH, as they are now"
    state, settled = (RiskState.FINE, "") if is_fine else (RiskState.DUE, "measure free SO2 and pH, then dose")
    limit = f"at least {show(Quantity.SULPHITE, MOLECULAR_LEAST, asked.units)}"
    return Risk("molecular SO2", state, why, settled, Quantity.SULPHITE, found.value, *found.band, None, limit, chance)


def _limited(asked: _Bottling, name: str, figure: str, quantity: Quantity, rule: str) -> Risk:
    """Hold a figure against a maximum of the rules, which may not be known."""
    now, most = asked.now(figure), asked.profile.find(rule)
    known = most if most is not None and most.is_known else None
    chance = None if known is None else now.chance(float(known.number), 1)
    limit = "not known" if known is None else f"at most {show(quantity, float(known.number), asked.units)}"
    source = "" if most is None else most.citation
    state, why, settled = RiskState.FINE, "under the limit", ""
    if now.value is None:
        state, why, settled = RiskState.DUE, "not known", "measure it"
    elif known is None:
        state, why, settled = RiskState.DUE, "no limit is known here", "ask, and enter it: `cooperage rules set`"
    elif not known.limit.holds(now.value):
        state, why, settled = RiskState.TROUBLE, "over the limit", "another blend; measure it"
    elif chance is not None and chance >= LIKELY:
        state, why, settled = RiskState.DUE, "it may be over the limit", "measure it"
    return Risk(name, state, why, settled, quantity, now.value, *now.band, now.age_days, limit, chance, source)


def _statement(asked: _Bottling) -> Risk:
    total, line = asked.now("total_so2_mg_l"), asked.profile.find("sulphite-statement")
    source = "" if line is None else line.citation
    if line is None or not line.is_known or total.value is None:
        why = "total SO2 not known" if total.value is None else "no line is known here"
        return Risk("sulphite statement", RiskState.DUE, why, "measure, or ask your authority", source=source)
    needs = line.limit.holds(total.value)
    chance = total.chance(float(line.number), -1 if needs else 1)
    state = RiskState.DUE if needs or (chance or 0.0) >= LIKELY else RiskState.FINE
    why = "the label names sulphites" if needs else "under the line"
    settled = "look at the label" if needs else "measure it" if state is RiskState.DUE else ""
    begins = "from" if line.text.startswith(">=") else "above"
    limit = f"named {begins} {show(Quantity.SULPHITE, float(line.number), asked.units)}"
    return Risk("sulphite statement", state, why, settled, limit=limit, chance=chance, source=source)


def _temperature(asked: _Bottling) -> Risk:
    from cooperage.liquid.warmed import volume_against_20c

    warm, abv, sugar = (asked.now(name) for name in ("temperature_c", "abv", "sugar_g_l"))
    is_old = warm.value is None or not warm.is_read
    why = "the fill is of 20 °C"
    if warm.value is not None and abv.value is not None and 0 <= warm.value <= 40:
        size = min(asked.bottles, default=750)
        ml = size * float(volume_against_20c(abv.value, sugar.value or 0.0, warm.value))
        why = f"{size} mL at 20 °C fill {show(Quantity.NUMBER, ml, asked.units, digits=1)} mL as it is"
    state, settled = (RiskState.DUE, "measure it on the day") if is_old else (RiskState.FINE, "")
    return Risk("temperature", state, why, settled, Quantity.TEMPERATURE, warm.value, *warm.band, warm.age_days)


def _volume(asked: _Bottling) -> Risk:
    ml = sum(each.ml for each in asked.standings)
    wanted = sum(size * count for size, count in asked.bottles.items() if count is not None)
    left = max(0, ml - wanted)
    counts = {size: f"up to {left // size}" if count is None else f"{count}" for size, count in asked.bottles.items()}
    sizes = ", ".join(f"{count} of {size} mL" for size, count in counts.items())
    if wanted > ml:
        why = f"{sizes} need {show(Quantity.VOLUME, wanted, asked.units)}"
        return Risk("volume", RiskState.TROUBLE, why, "fewer bottles, or more mead", Quantity.VOLUME, ml)
    return Risk("volume", RiskState.FINE, f"for {sizes}, before any loss", "", Quantity.VOLUME, ml)
