"""The command for sulphite upkeep: how a lot's barrels are spread, which are low, and what each would take."""

from collections.abc import Sequence
from typing import Any

import click

from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import Work
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import LOTS
from cooperage.cli.shared.desk import (
    json_option,
    number,
    open_book,
    plain,
    print_cautions,
    print_json,
    print_table,
    settings,
)
from cooperage.liquid.hazards import DECLARED_FROM
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.upkeep.beginnings import missing
from cooperage.programme.upkeep.sulphite import (
    USUAL_BINDING,
    BarrelDose,
    LotSpread,
    LotSulphite,
    low_words,
    sulphite_by_lot,
)
from cooperage.units import Quantity, counted, read, show, unit_written


@command("sulphite", "cooperage sulphite", "cooperage sulphite --lot BW-24 --target 0.6 --bound 35% --json")
@option("--lot", metavar="LOT", shell_complete=LOTS, help="Show this lot only.")
@option("--target", type=number, metavar="MG/L", help="Molecular SO2 to reach (default: 0.5, or the floor if higher).")
@option("--bound", metavar="PERCENT", help=f"Part of an addition that binds (default: {100 * USUAL_BINDING:g}%).")
@option("--binding", type=number, hidden=True, help="The same as a share from 0 to 1.")
@json_option
@click.pass_context
def sulphite_command(
    ctx: click.Context, lot: str | None, target: float | None, bound: str | None, binding: float | None, as_json: bool
) -> None:
    """Show each lot's free and molecular SO2, and the metabisulphite each barrel would take."""
    share = USUAL_BINDING if binding is None else binding
    if bound is not None:
        share = read(Quantity.PERCENT, bound, settings().units) / 100
    cellar = cellar_now(open_book(ctx))
    found = sulphite_by_lot(cellar, lot, target, share)
    minded = cautions(Work("addition", substances=("metabisulphite",)))
    if as_json:
        print_json({"lots": [_lot_row(each) for each in found], "cautions": minded, "reference": DECLARED_FROM})
        return
    if not found:
        click.echo(missing(cellar) or f"No barrel holds {lot}, or mostly it.")
        return
    for each in found:
        _print_lot(each)
    click.echo(_to_carry([dose for each in found for dose in each.doses]))
    click.echo(DECLARED_FROM)
    print_cautions(minded, err=False)


def _print_lot(found: LotSulphite) -> None:
    low = f"under the floor: {', '.join(found.under_floor)}" if found.under_floor else "none under the floor"
    click.echo(f"{found.lot}  free {_spread(found.free, 0)}  molecular {_spread(found.molecular, 2)}  {low}")
    header = ("barrel", "holds", "free now", "pH", "molecular", "floor", "metabisulphite", "90 %", "")
    print_table(header, [_line(dose) for dose in found.doses], right=(1, 2, 3, 4, 5, 6, 7))
    click.echo()


def _spread(spread: LotSpread | None, digits: int) -> str:
    if spread is None:
        return "unknown"
    low, middle, high = (_sulphite(value, digits) for value in (spread.low, spread.middle, spread.high))
    return f"{low} / {middle} / {high} mg/L"


def _sulphite(value: float | None, digits: int) -> str:
    return show(Quantity.SULPHITE, value, settings().units, with_unit=False, digits=digits)


def _line(dose: BarrelDose) -> tuple[Any, ...]:
    units = settings().units
    first, large = dose.measure_first and "measure first", dose.is_large and "large dose: check"
    return (
        dose.barrel,
        show(Quantity.VOLUME, round(dose.litres * 1000), units),
        _sulphite(dose.free_mg_l, 0),
        show(Quantity.NUMBER, dose.ph, units),
        _sulphite(dose.molecular_mg_l, 2),
        _sulphite(dose.floor_mg_l, 2),
        show(Quantity.MASS, dose.grams, units),
        _range(dose),
        ", ".join(mark for mark in (low_words(dose), first, large) if mark),
    )


def _range(dose: BarrelDose) -> str:
    """Return what the dose would be at the ends of the band of free SO2; empty where it is as sure as it was read."""
    if not dose.grams_high or dose.grams_low is None or dose.grams_low == dose.grams_high:
        return ""
    units = settings().units
    low = show(Quantity.MASS, dose.grams_low, units, with_unit=False)
    return f"{low} to {show(Quantity.MASS, dose.grams_high, units)}"


def _to_carry(doses: Sequence[BarrelDose]) -> str:
    """Return in one line what the walk needs: the sum of all doses, and for how many it is better to measure first."""
    wanted = [dose for dose in doses if dose.grams]
    if not wanted:
        return _none_wanted(doses)
    grams = show(Quantity.MASS, sum(dose.grams or 0.0 for dose in wanted), settings().units)
    unsure, more = sum(dose.measure_first for dose in wanted), sum(d.measure_first and not d.grams for d in doses)
    parts = [f"{unsure} of them may need none"] if unsure else []
    parts += [f"{counted(more, 'other')} may need some"] if more else []
    first = f"; {' and '.join(parts)}: measure first" if parts else ""
    return f"To carry: {grams} for {counted(len(wanted), 'barrel')}{first}."


def _none_wanted(doses: Sequence[BarrelDose]) -> str:
    """Return why nothing is to be carried: there is enough, no sane dose gets there, or too little is known."""
    if all(dose.grams is not None for dose in doses):
        return "No barrel needs metabisulphite."
    if any(dose.is_large for dose in doses):
        return "No dose that is safe to add reaches the target; name a lower one with --target (0.5 to 0.8 is usual)."
    return "No dose can be calculated; measure free SO2, pH and strength first."


_UNIT = unit_written(Quantity.SULPHITE)


def _lot_row(found: LotSulphite) -> dict[str, Any]:
    doses = [plain(dose) | {"measure_first": dose.measure_first} for dose in found.doses]
    row: dict[str, Any] = plain(found)
    spreads = {name: row[name] and {**row[name], "unit": _UNIT} for name in ("free", "molecular")}
    return row | spreads | {"doses": doses}
