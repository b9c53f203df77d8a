"""What every `calc` command shares: figures typed with their give-or-take, carried through, shown with their source."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import click

from cooperage.cli.shared.command import option as declared_option
from cooperage.cli.shared.desk import print_cautions, print_json, settings
from cooperage.errors import BadInput
from cooperage.liquid import Estimate, OutsideFormula, first_order
from cooperage.liquid._ranges import LARGEST
from cooperage.liquid.hazards import STRONG_ABV
from cooperage.units import NotAQuantity, Quantity, Units, read, show

if TYPE_CHECKING:
    from cooperage.book.dangers.dangers import Caution


class TypedFigure(NamedTuple):
    """A figure as it was typed: canonical, but litres for a volume."""

    value: float
    spread: float = 0.0
    """Standard uncertainty, in the same unit; 0 where none was typed."""


class CannotCalculate(BadInput):
    """The figures given do not make a question that has one answer; the line names those that would."""


_GIVE_OR_TAKE = re.compile(r"±|\+/?-")
_SIGN_NUMBER_UNIT = re.compile(r"\s*([-−]?)\s*([0-9.,]+)\s*(.*?)\s*")


def typed(quantity: Quantity, gravity: str | None = None) -> Callable[[str], TypedFigure]:
    """Make the type of an argument: "13.5" in the person's units, or "13.5±0.1", "13.5 +- 0.1 %", with its uncertainty.

    `gravity` is the unit of a bare gravity, for an instrument that shows no other.
    """
    per_unit = 1000.0 if quantity is Quantity.VOLUME else 1.0  # millilitres to litres

    def reading(text: str) -> TypedFigure:
        units = settings().units
        figure = read_figure(quantity, text, replace(units, gravity=gravity) if gravity else units)
        return TypedFigure(figure.value / per_unit, figure.spread / per_unit)

    reading.__name__ = quantity.value  # what help calls it
    return reading


def read_figure(quantity: Quantity, text: str, units: Units) -> TypedFigure:
    """Return a quantity and its give-or-take, canonical; the latter is a difference in the unit of the former.

    Raises: NotAQuantity.
    """
    stated, *around = _GIVE_OR_TAKE.split(text, maxsplit=1)
    if not around:
        return TypedFigure(float(read(quantity, text, units)))
    figure, spread = _SIGN_NUMBER_UNIT.fullmatch(stated), _SIGN_NUMBER_UNIT.fullmatch(around[0])
    if not figure or not spread or spread[1] or (figure[3] and spread[3] and figure[3] != spread[3]):
        raise NotAQuantity(quantity, text, units)
    number, by = (float(read(Quantity.NUMBER, each[2], units)) for each in (figure, spread))
    unit = figure[3] or spread[3]
    value = float(read(quantity, f"{figure[1]}{figure[2]} {unit}", units))
    if quantity is Quantity.GRAVITY and not unit:  # what a bare number means hangs on its digits
        unit = "sg" if value in (number, number / 1000) else units.gravity
    moved = number - by if number > by else number + by
    return TypedFigure(value, abs(float(read(quantity, f"{figure[1]}{moved:.9f} {unit}", units)) - value))


GRAVITY, STRENGTH, SUGAR = typed(Quantity.GRAVITY), typed(Quantity.STRENGTH), typed(Quantity.SUGAR)
BRIX = typed(Quantity.GRAVITY, gravity="brix")
TEMPERATURE, VOLUME, MASS, LENGTH = (
    typed(each) for each in (Quantity.TEMPERATURE, Quantity.VOLUME, Quantity.MASS, Quantity.LENGTH)
)
SULPHITE, PERCENT, NUMBER, COUNT = (
    typed(each) for each in (Quantity.SULPHITE, Quantity.PERCENT, Quantity.NUMBER, Quantity.COUNT)
)


def calculate(function: Callable[..., Any], *figures: TypedFigure) -> Estimate:
    """Carry the figures and their uncertainties through a function of `cooperage.liquid`."""
    return first_order(function, [each.value for each in figures], [each.spread for each in figures])


def calculate_each(
    function: Callable[..., Any], *figures: TypedFigure, only: Sequence[str] = ()
) -> dict[str, Estimate]:
    """Do the same for a function that returns several figures by name."""
    results = function(*(each.value for each in figures))
    names = only or results._fields
    return {name: calculate(lambda *given, name=name: getattr(function(*given), name), *figures) for name in names}


class _Shown(NamedTuple):
    """How one figure is shown to a person; scripts read its key."""

    label: str
    quantity: Quantity = Quantity.NUMBER
    digits: int = 2
    unit: str = ""


_SHOWN: Mapping[str, _Shown] = {
    "abv": _Shown("strength", Quantity.STRENGTH),
    "mass_percent": _Shown("ethanol by mass", unit="g/100 g"),
    "original_sg": _Shown("original gravity", Quantity.GRAVITY, 4),
    "final_sg": _Shown("final gravity", Quantity.GRAVITY, 4),
    "sg": _Shown("gravity 20/20", Quantity.GRAVITY, 4),
    "sg_20_4": _Shown("SG 20/4", digits=4),
    "sg_in_air": _Shown("SG 20/20 in air", digits=4),
    "kg_m3": _Shown("density at 20 °C", unit="kg/m3"),
    "brix": _Shown("sugar by mass", unit="g/100 g (Brix, Plato)"),
    "oechsle": _Shown("Oechsle", digits=1, unit="°Oe"),
    "baume": _Shown("Baumé", unit="°Bé"),
    "sugar_g_l": _Shown("sugar by volume", Quantity.SUGAR, 1),
    "potential_abv": _Shown("potential strength", Quantity.STRENGTH, 1),
    "extract_g_l": _Shown("extract", Quantity.SUGAR, 1),
    "litres": _Shown("volume", Quantity.VOLUME, 2),
    "contraction_l": _Shown("contraction", Quantity.VOLUME, 3),
    "stock_l": _Shown("stock to add", Quantity.VOLUME, 2),
    "free_so2_mg_l": _Shown("free SO2", Quantity.SULPHITE, 1),
    "molecular_so2_mg_l": _Shown("molecular SO2", Quantity.SULPHITE, 2),
    "pk": _Shown("pK", digits=3),
    "metabisulphite_g": _Shown("potassium metabisulphite", Quantity.MASS, 2),
    "solution_ml": _Shown("or stock solution", digits=1, unit="mL"),
    "gas_g": _Shown("or sulphur dioxide itself", Quantity.MASS, 2),
    "bound_percent": _Shown("bound of an addition", Quantity.PERCENT, 0),
    "moisture": _Shown("moisture", unit="g/100 g"),
    "honey_kg": _Shown("honey to add", unit="kg"),
    "missing_l": _Shown("missing", Quantity.VOLUME, 2),
    "held_l": _Shown("holds", Quantity.VOLUME, 1),
    "headspace_mm": _Shown("headspace", Quantity.LENGTH, 1),
    "lost_litres": _Shown("level falls by", Quantity.VOLUME, 2),
    "lost_water_kg": _Shown("water lost", unit="kg"),
    "lost_ethanol_kg": _Shown("ethanol lost", digits=3, unit="kg"),
    "balance_humidity": _Shown("humidity at which strength stays constant", Quantity.PERCENT, 0),
    "permeability": _Shown("permeability of the wood", digits=2, unit="x 1e-12 kg/(m s Pa)"),
}


class Handled(NamedTuple):
    """What a calculation is for: liquids of some strength (the mead's own first), sugar, substances that are added."""

    abv: tuple[float, ...] = ()
    sweetens: bool = False
    substances: tuple[str, ...] = ()


def _cautions_of(handled: Handled) -> "tuple[Caution, ...]":
    """Return what to mind; the book, slow to import, is only asked where there is something in it."""
    if not (handled.sweetens or handled.substances or any(abv > STRONG_ABV for abv in handled.abv)):
        return ()
    from cooperage.book.dangers.dangers import cautions
    from cooperage.book.dangers.work import Work

    return cautions(Work(**handled._asdict(), units=settings().units))


def print_result(
    found: Mapping[str, Estimate],
    *,
    as_json: bool,
    notes: Sequence[str] = (),
    also: Mapping[str, Any] | None = None,
    handled: Handled | None = None,
) -> None:
    """Print the figures found, the notes that belong to them, and the source that the command's help names.

    The cautions of what is `handled` (else only of the strength found) come first.
    """
    minded = _cautions_of(handled or Handled(strengths_in(found)))
    print_cautions(minded)
    if as_json:
        values = {key: float(each.value) for key, each in found.items()}
        spreads = {
            key: float(each.standard_uncertainty) for key, each in found.items() if each.standard_uncertainty > 0
        }
        about = {"notes": list(notes), "source": source(), "cautions": minded}
        print_json({**values, "give_or_take": spreads, **(also or {}), **about}, to_the_unit=False)
        return
    wide = max((len(_SHOWN[key].label) for key in found), default=0)
    for key, each in found.items():
        click.echo(f"{_SHOWN[key].label:<{wide}}  {format_estimate(key, each)}")
    for note in notes:
        click.echo(f"note: {note}")
    click.echo(f"source: {source()}")


def strengths_in(found: Mapping[str, Estimate]) -> tuple[float, ...]:
    """Return the strength among the figures found [% vol], if there is one."""
    return (float(found["abv"].value),) if "abv" in found else ()


def format_estimate(key: str, found: Estimate) -> str:
    """Write one figure in the person's units, with its give-or-take where it has one."""
    shown, units = _SHOWN[key], settings().units
    value = _show(shown, float(found.value), units)
    if not found.standard_uncertainty > 0:
        return value
    if shown.quantity is Quantity.GRAVITY:
        return f"{value} ± {show(Quantity.NUMBER, float(found.standard_uncertainty), units, digits=5)} SG"
    return f"{value} ± {_show(shown, float(found.standard_uncertainty), units, with_unit=False)}"


def _show(shown: _Shown, value: float, units: Units, *, with_unit: bool = True) -> str:
    if shown.quantity is Quantity.VOLUME:
        return show(Quantity.VOLUME, round(1000 * value), units, with_unit=with_unit, digits=shown.digits)
    digits = 1 if shown.quantity is Quantity.GRAVITY and units.gravity != "sg" else shown.digits
    text = show(shown.quantity, value, units, with_unit=with_unit, digits=digits)
    return f"{text} {shown.unit}" if shown.unit and with_unit else text


def format_outside(error: OutsideFormula, units: Units) -> str:
    """Format a figure outside a formula's range in the person's units; units without a choice stay as they are."""

    def words(value: float) -> str:
        if error.unit == "°C":
            return show(Quantity.TEMPERATURE, value, units)
        return show(Quantity.VOLUME, round(1000 * value), units, digits=3)

    if error.unit not in ("°C", "L"):
        return str(error)
    is_open = error.high >= LARGEST
    limits = f"{words(error.low)} or more" if is_open else f"between {words(error.low)} and {words(error.high)}"
    return f"{error.quantity} must be {limits}, not {words(error.given)}"


def source() -> str:
    """Return what the running command's help has after "Source:", so that both always agree."""
    help_text = click.get_current_context().command.help or ""
    return " ".join(help_text.partition("Source:")[2].split())


Decorator: TypeAlias = Callable[[Callable[..., None]], Callable[..., None]]


def option(*names: str, reads: Callable[[str], TypedFigure], about: str, **given: Any) -> Decorator:  # noqa: ANN401 - what click takes
    """Declare an option that takes a quantity; help shows what kind."""
    return declared_option(*names, type=reads, help=about, metavar=given.pop("metavar", _METAVARS[reads]), **given)


_METAVARS: Mapping[Callable[[str], TypedFigure], str] = {
    GRAVITY: "GRAVITY",
    STRENGTH: "STRENGTH",
    SUGAR: "SUGAR",
    BRIX: "BRIX",
    TEMPERATURE: "TEMPERATURE",
    VOLUME: "VOLUME",
    MASS: "MASS",
    LENGTH: "LENGTH",
    SULPHITE: "MG/L",
    PERCENT: "PERCENT",
    NUMBER: "NUMBER",
    COUNT: "NUMBER",
}


def find_only_given(**given: object) -> str:
    """Return the name of the one that was given. Raises: CannotCalculate."""
    named = [name for name, value in given.items() if value is not None]
    if len(named) != 1:
        choices = " or ".join(f"--{name.replace('_', '-')}" for name in given)
        raise CannotCalculate(f"give one of {choices}, not {len(named) or 'none'} of them")
    return named[0]
