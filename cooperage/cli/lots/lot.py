"""`cooperage lot`: the sheet of a lot, its batch, and the honey it is made of."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from cooperage.book.declared.from_text import BadField
from cooperage.cli.lots.shown import COLUMNS, ROWS, curve_json, honey_json, print_lines, sheet_json
from cooperage.cli.shared.asking import BadOption, asking, texts_of
from cooperage.cli.shared.command import CommandGroup
from cooperage.cli.shared.complete import HONEYS, LOTS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    note_option,
    open_book,
    open_book_if_there,
    open_or_create_book,
    print_json,
    print_table,
    settings,
)
from cooperage.programme.batches.typed import OF_BATCH, OF_HONEY, parse_batch, parse_honey

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

_HONEY = "cooperage lot honey HB-9 420kg --producer 'our own hives' --flowers heather --moisture 17.2% --price 7.80"
_BATCH = "cooperage lot batch HE-25 --water 350l --with-honey HB-9=150kg --yeast ours --tolerance 14%"


class _LotGroup(CommandGroup):
    """A group in which the code of a lot stands for `show`."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that is called; a word that is none is the code of a lot to be shown."""
        if not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            args = ["show", *args]
        return super().resolve_command(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> "list[CompletionItem]":
        """Complete commands, and codes of lots."""
        from click.shell_completion import CompletionItem

        parameter = click.Argument(["code"])
        codes = [CompletionItem(code) for code in LOTS(ctx, parameter, incomplete)]
        return [*super().shell_complete(ctx, incomplete), *codes]


lot_command = _LotGroup(
    "lot",
    help="Show all of a lot, write its batch sheet, or the honey it is made of.",
    examples=("cooperage lot HE-25", f"{_HONEY} && {_BATCH}"),
)


@lot_command.command("show", examples=("cooperage lot show HE-25", "cooperage lot show LB-25 --json"))
@click.argument("code", metavar="LOT", shell_complete=LOTS, help="Code of the lot, as `cooperage lots` lists it.")
@json_option
@click.pass_context
def show_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show a lot: honey, batch, fermentation and where it ends, what was added, and its figures over its vessels."""
    from cooperage.programme.ageing.aged import cellar_now
    from cooperage.programme.batches.lot_sheet import lot_sheet
    from cooperage.programme.batches.words import headline, honey_cautions, sheet_lines

    book, units = open_book(ctx), settings().units
    cellar = cellar_now(book)
    sheet = lot_sheet(book, cellar, code)
    if as_json:
        print_json(sheet_json(sheet))
        return
    click.echo(headline(sheet, units))
    print_lines(sheet_lines(sheet, cellar.at, units))
    for line in (text for honey in sheet.honeys for text in honey_cautions(honey, units)):
        click.echo(f"caution: {line}")


@lot_command.command("curve", examples=("cooperage lot curve LB-25", "cooperage lot curve LB-25 --json"))
@click.argument("code", metavar="LOT", shell_complete=LOTS, help="Code of the lot, as `cooperage lots` lists it.")
@json_option
@click.pass_context
def curve_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show the fermentation of a lot as a curve: gravities read, the curve through them with its band, and the end.

    Days count from the pitching. The band holds the gravity 8 times of 10. Source: Michaelis and Menten's law, slowed
    by alcohol; an approximation.
    """
    from cooperage.programme.ageing.aged import cellar_now
    from cooperage.programme.batches.lot_sheet import lot_sheet
    from cooperage.programme.batches.words import going_lines, headline, no_curve_words
    from cooperage.programme.page.fermented import CURVE_HEAD, curve_days, curve_row, ferment_chart, ferment_lines

    book, units = open_book(ctx), settings().units
    cellar = cellar_now(book)
    sheet = lot_sheet(book, cellar, code)
    course, began = sheet.course, sheet.fermented.began
    if as_json:
        print_json(curve_json(sheet))
        return
    click.echo(headline(sheet, units))
    if course is None or began is None:
        print_lines([no_curve_words(sheet)])
        return
    print_lines(going_lines(sheet, cellar.at, units))
    chart = ferment_chart(course, began, cellar.at, COLUMNS, ROWS, units)
    click.echo("\n".join(ferment_lines(chart, COLUMNS, ROWS)))
    click.echo("● read   ─ curve   ╌ expected   ░ 8 times of 10")
    rows = [curve_row(each, cellar.at, units) for each in curve_days(course, sheet.fermented)]
    print_table(CURVE_HEAD, rows, right=(0, 2, 3, 4, 5))


@asking(OF_HONEY, 2, {"code": HONEYS})
@lot_command.command(
    "honey",
    examples=(
        _HONEY,
        "cooperage lot honey HB-9 200kg --flowers lime --index 1.4935 --at 21c --supplier-lot 44 --json",
    ),
)
@note_option
@hand_option
@json_option
@click.pass_context
def honey_command(
    ctx: click.Context,
    /,
    hand: str | None,
    note: str,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Record honey that came in; written again under its code, it is corrected, and what stood before is kept."""
    from cooperage.programme.batches.kept import keep_honey
    from cooperage.programme.batches.words import honey_cautions, honey_words, mass_words

    units, book = settings().units, open_book_if_there(ctx)
    now = datetime.now(UTC) if book is None else book.now()  # a cellar is begun only for what can be written
    try:
        honey = parse_honey(texts_of(OF_HONEY, given) | {"note": note}, now, units)
    except BadField as error:
        raise BadOption(OF_HONEY, error, 2) from error
    kept = keep_honey(book or open_or_create_book(ctx), honey, hand=hand or settings().hand)
    if as_json:
        print_json(honey_json(kept))
        return
    click.echo(f"honey {kept.code}: {mass_words(kept.grams, units)}, {honey_words(kept, units)}")
    for line in honey_cautions(kept, units):
        click.echo(f"caution: {line}")


@lot_command.command("honeys", examples=("cooperage lot honeys", f"{_HONEY} && cooperage lot honeys --json"))
@json_option
@click.pass_context
def honeys_command(ctx: click.Context, as_json: bool) -> None:
    """List the honeys with what is left of each after the batches."""
    from cooperage.programme.batches.lot_sheet import honeys_now
    from cooperage.programme.batches.words import HONEY_HEAD, honey_row

    found, units = honeys_now(open_book(ctx)), settings().units
    if as_json:
        print_json([honey_json(each.honey) | {"left_kg": each.left / 1000} for each in found])
        return
    empty = "No honey is in the book; `cooperage lot honey` records it."
    print_table(HONEY_HEAD, [honey_row(each, units) for each in found], right=(4, 5, 6, 7), empty=empty)


@asking(OF_BATCH, 1, {"lot": LOTS})
@lot_command.command(
    "batch",
    examples=(
        f"{_HONEY} && {_BATCH} --coolest 15c --warmest 22c",
        "cooperage lot batch HE-25 --water 300l --juice 'sour cherry=50l at 14 Bx' --json",
    ),
)
@note_option
@hand_option
@json_option
@click.pass_context
def batch_command(
    ctx: click.Context,
    /,
    hand: str | None,
    note: str,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Write the batch sheet of a lot; the gravity it makes and where it would end are calculated.

    Written again, it is corrected: what is left out stays as it was, and what stood before is kept. Source:
    conservation of mass with ICUMSA SPS-4 (1990) for the gravity; Balling's rule (Cutaia, Reid and Speers 2009) and
    Tabarié's (OIV-MA-AS2-03B) for the end.
    """
    from cooperage.programme.batches.kept import keep_batch
    from cooperage.programme.batches.words import target_words

    units = settings().units
    try:
        batch = parse_batch(texts_of(OF_BATCH, given) | {"note": note}, units)
    except BadField as error:
        raise BadOption(OF_BATCH, error) from error
    kept = keep_batch(open_book(ctx), batch, hand=hand or settings().hand)
    if as_json:
        from cooperage.cli.lots.shown import batch_json

        print_json(batch_json(kept))
        return
    click.echo(f"batch of {kept.lot} written")
    print_lines([target_words(kept, None, units)])
