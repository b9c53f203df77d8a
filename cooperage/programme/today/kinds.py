"""How each kind of sign stands in a row: the figure that shows it, the reason in a few words, what to do."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Figure, Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.losses.level import format_short, level_now, rate_of
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.signs.looks import found_wrong
from cooperage.programme.signs.sign import ODD_LOSS, Sign
from cooperage.programme.signs.waiting import MONTH_DAYS
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.upkeep.dips import dip_band_ml
from cooperage.programme.upkeep.sulphite import dose
from cooperage.programme.upkeep.verdicts import last_cared_for
from cooperage.units import Quantity, Units, show, show_date, unit_written


@dataclass(frozen=True, slots=True)
class Figured:
    """A figure as it stands in its columns: the value, how far it may be off 90 times of 100 (or ""), the unit.

    `amount` is the value in its canonical unit, to order figures by.
    """

    value: str
    band: str
    unit: str
    amount: float


@dataclass(frozen=True, slots=True)
class Case:
    """A sign, the vessel as it stands, its loss rate where it has one, and the units to show it in."""

    sign: Sign
    standing: Standing
    rate: LossRate | None
    units: Units

    def day(self, at: datetime | None) -> str:
        """Return a day as people write it: "21 Nov", with the year where it is another."""
        return day_named(at, self.standing.at)

    def volume(self, ml: float, *, with_unit: bool = True) -> str:
        """Return a volume as text."""
        return show(Quantity.VOLUME, round(ml), self.units, with_unit=with_unit)


@dataclass(frozen=True, slots=True)
class Wording:
    """How a kind is shown. The reason is in clauses, the first the weightiest, so that a narrow row has the first.

    An order of a kind in `dealt_by` at the vessel is for it.
    """

    figure: Callable[[Case], Figured | None]
    reason: Callable[[Case], tuple[str, ...]]
    do: Callable[[Case], str]
    dealt_by: tuple[str, ...] = ()


def day_named(at: datetime | None, now: datetime) -> str:
    """Return a day as people write it: "21 Nov", with the year where it is another than now's; "?" for unknown."""
    return show_date(at, now).strip()


def wording_of(kind: str) -> Wording:
    """Return how a kind of sign is shown; one that is not declared by its own name and words."""
    return KINDS.get(kind, _UNDECLARED)


def _figured(
    quantity: Quantity, value: float | None, half: float | None, units: Units, digits: int | None = None
) -> Figured | None:
    """Set a value and its band in as many digits; a band too narrow for them is left out."""
    if value is None:
        return None
    shown = show(quantity, value, units, with_unit=False, digits=digits)
    wide = None if half is None or quantity is Quantity.GRAVITY else show(
        quantity, half, units, with_unit=False, digits=digits
    )  # fmt: skip
    band = f"±{wide}" if wide is not None and wide.strip("0.,") else ""
    return Figured(shown, band, unit_written(quantity, units), value)


def _half(figure: Figure) -> float | None:
    return None if figure.low is None or figure.high is None else (figure.high - figure.low) / 2


def figure_now(standing: Standing, name: str, units: Units) -> Figured | None:
    """Return a property as it is now, with its band; None where it is unknown."""
    found = standing.figure(name)
    return _figured(PROPERTIES[name].quantity, found.value, _half(found), units)


def _of_property(name: str) -> Callable[[Case], Figured | None]:
    return lambda case: figure_now(case.standing, name, case.units)


def _litres(case: Case) -> Figured | None:
    about = case.sign.about_l
    return None if about is None else _figured(Quantity.VOLUME, round(1000 * abs(about)), None, case.units)


def _none(_case: Case) -> None:
    return None


# --- levels ---------------------------------------------------------------------------------------------------------


def _level(case: Case) -> Figured | None:
    level = level_now(case.standing, case.rate)
    half = None if level.low is None else round((level.high - level.low) / 2)
    return _figured(Quantity.VOLUME, level.ml, half, case.units)


def _leaks(case: Case) -> tuple[str, ...]:
    rate = rate_of(case.standing, {} if case.rate is None else {case.standing.tag: case.rate})
    losing, usual = rate.ml_per_day * MONTH_DAYS, rate.peers_ml_per_day * MONTH_DAYS
    return f"{case.volume(losing)} a month", f"usual {case.volume(usual, with_unit=False)}"


def _stop_leak(case: Case) -> str:
    top = format_short(level_now(case.standing, case.rate), case.units)
    return f"Look under the bilge and at the heads, then top {top}."


def _odd_loss(case: Case) -> tuple[str, ...]:
    leak = None if case.rate is None else case.rate.leak
    if leak is None:
        return (case.sign.why,)
    expected, lost = case.volume(leak.expected_ml, with_unit=False), case.volume(leak.lost_ml)
    return f"lost {lost}, usual {expected}", "leak, or slip?"


def _dip(case: Case) -> Figured | None:
    return _figured(Quantity.VOLUME, round(1000 * abs(case.sign.about_l or 0)), dip_band_ml(case.standing), case.units)


def _is_short(case: Case) -> bool:
    return (case.sign.about_l or 0.0) >= 0


def _part_full(case: Case) -> Figured | None:
    return _figured(Quantity.VOLUME, case.standing.headspace_ml, None, case.units)


# --- the mead -------------------------------------------------------------------------------------------------------


def _acidity(case: Case) -> tuple[str, ...]:
    limit = show(Quantity.ACID, upkeep_of(case.standing).va_ceiling_g_l, case.units, with_unit=False)
    smelled = found_wrong(case.standing).get("smell")
    nose = () if smelled is None else (f"smelled {case.day(smelled[1])}",)
    return f"limit {limit}", *nose


def _molecular(case: Case) -> Figured | None:
    found = case.standing.molecular_figure()
    return _figured(Quantity.SULPHITE, found.value, _half(found), case.units, 2)


def _floor(case: Case) -> tuple[str, ...]:
    floor = upkeep_of(case.standing).molecular_so2_floor_mg_l
    limit = show(Quantity.SULPHITE, floor, case.units, with_unit=False, digits=2)
    ago = case.standing.figure("free_so2_mg_l").ago
    return f"floor {limit}", *((f"measured {ago}",) if ago else ())


def _dose(case: Case) -> str:
    wanted = dose(case.standing)
    if not wanted.grams:
        return "Measure free SO2 and pH, then dose."
    grams = show(Quantity.MASS, wanted.grams, case.units)
    if wanted.may_be_low:
        return f"Measure free SO2 first; if it is as low, add {grams} of metabisulphite."
    return f"Add {grams} of metabisulphite, then measure again."


def _warmth_read(case: Case) -> Figured | None:
    read = case.standing.state.reads.get("temperature_c")
    return None if read is None else _figured(Quantity.TEMPERATURE, read.value, None, case.units)


# --- what was seen, and what is empty -------------------------------------------------------------------------------


def _meant(case: Case) -> str:
    """Return the advice that a look's words come with."""
    words = case.sign.why.partition(": ")[2] or case.sign.why
    return f"{words[:1].upper()}{words[1:]}."


def _noted(case: Case) -> tuple[str, ...]:
    return (f"noted {case.day(case.sign.since)}",)


def _empty_days(case: Case) -> Figured | None:
    return _figured(Quantity.DAYS, case.standing.calendar_days_empty or 0, None, case.units)


def _untended(case: Case) -> tuple[str, ...]:
    cared = last_cared_for(case.standing)
    return (f"not smelled since {case.day(cared)}",) if cared is not None else ("not smelled since",)


def _since(words: str) -> Callable[[Case], tuple[str, ...]]:
    return lambda case: (f"{words} since {case.day(case.sign.since)}",)


def _of_class_line(why: str) -> tuple[str, str]:
    """Return which class line is near, and what changes there and where that is written."""
    line, _, written = why.partition("line of ")[2].partition(" (")
    return f"near {line}", written.partition(";")[0]


KINDS: Mapping[str, Wording] = {
    "leak": Wording(_level, _leaks, _stop_leak, ("top", "rack")),
    ODD_LOSS: Wording(_litres, _odd_loss, lambda _: "Look for wet staves; the next topping settles it."),
    "va": Wording(
        _of_property("va_g_l"),
        _acidity,
        lambda _: "Measure it again; keep its thief and hose apart from the others.",
    ),
    "sulphite": Wording(_molecular, _floor, _dose),
    "sulphite loss": Wording(
        _of_property("free_so2_mg_l"),
        _since("too fast"),
        lambda _: "Look at bung and level; measure free SO2 and volatile acidity.",
    ),
    "gravity": Wording(
        _of_property("sg"),
        _since("fell"),
        lambda _: "Measure gravity again; bottle nothing of it until it stands still.",
    ),
    "stuck": Wording(
        _of_property("sg"),
        lambda case: (case.sign.why.partition(",")[0],),
        lambda _: "Measure gravity and warmth again; stir, warm it, or pitch fresh yeast.",
    ),
    "ferment warmth": Wording(
        _warmth_read,
        lambda case: (case.sign.why.partition(":")[0],),
        lambda _: "Bring it back between the limits of its yeast.",
    ),
    "dip": Wording(
        _dip,
        lambda case: (f"{'under' if _is_short(case) else 'over'} the book since {case.day(case.sign.since)}",),
        lambda _: "Dip it again; then gauge it, or look for the leak.",
        ("gauge",),
    ),
    "litres": Wording(
        _litres,
        lambda case: (f"{'missing' if _is_short(case) else 'too much'} at gauging", "in 12 months"),
        lambda _: "Count it, and name where it went.",
    ),
    "partial": Wording(
        _part_full,
        lambda case: (f"of air above {case.volume(case.standing.ml)}",),
        lambda _: "Top it, cover it with gas, or rack it together.",
        ("top", "fill", "rack"),
    ),
    "bung": Wording(_none, _since("seen"), _meant),
    "smell": Wording(_none, _noted, _meant),
    "empty": Wording(
        _empty_days,
        _untended,
        lambda _: "Waft over the bung hole and smell from a distance; then rinse or sulphur it.",
        ("fill", "treat", "retire"),
    ),
    "class line": Wording(
        _of_property("abv"),
        lambda case: _of_class_line(case.sign.why),
        lambda _: "Measure before any bottling, and check the line with your authority.",
    ),
    "strength": Wording(
        _of_property("abv"),
        lambda _: ("the spirit barrel gave strength",),
        lambda _: "Nothing: count on the measured strength.",
    ),
}
"""Every kind of sign. A new one has its own words until it has a line here."""

_UNDECLARED = Wording(_none, lambda case: (case.sign.why,), lambda _: "Look at it.")
