"""`cooperage barrel TAG`: everything about one vessel."""

from typing import Any

import click

from cooperage.book import Figure, Standing
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import before_vessel
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.log import entries
from cooperage.book.vessel_words import (
    ALL_BANDS,
    basis_lines,
    capacity_words,
    chalked_place,
    cooperage_words,
    figure_words,
    fill_words,
    judged_words,
    wood_words,
)
from cooperage.book.words import entry_line
from cooperage.cli.look.barrels import barrel_row
from cooperage.cli.look.entry import entry_row
from cooperage.cli.look.rounds import due_row, expected_words
from cooperage.cli.look.shown import seen_at, volume
from cooperage.cli.shared.command import command
from cooperage.cli.shared.complete import tag_argument
from cooperage.cli.shared.desk import as_of_option, json_option, open_book, plain, print_cautions, print_json, settings
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.brief import barrel_words, trial_of_barrel
from cooperage.programme.compared.kept import trials_of
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import Level, format_level, level_now
from cooperage.programme.ready.readiness import looks_due, readiness
from cooperage.programme.ready.words import ready_row, ready_words
from cooperage.programme.rounds.due import Due, next_due
from cooperage.programme.upkeep.registering import registered_words
from cooperage.programme.wood.words import wood_line
from cooperage.tasting.difference.vessels import vessel_differences
from cooperage.tasting.vessels import vessel_scores
from cooperage.units import DEFAULT, Quantity, show_day, unit_written

_MOST_TESTS = 3


@command(
    "barrel", "cooperage barrel B-028", "cooperage barrel B-028 --as-of 'last month'", "cooperage barrel T-1 --json"
)
@tag_argument()
@as_of_option
@json_option
@click.pass_context
def barrel_command(ctx: click.Context, tag: str, as_of: str | None, as_json: bool) -> None:
    """Show everything about one vessel: contents, figures and their age, what is due, its history."""
    book = open_book(ctx)
    cellar = cellar_now(book, seen_at(as_of))
    standing = cellar[tag]
    with book.reading() as connection:
        history = entries(connection, vessel_id=standing.vessel.id, until=cellar.at)
    figures = [*(standing.figure(name) for name in PROPERTIES), standing.molecular_figure()]
    rates = loss_rates(book, cellar)
    units = DEFAULT if as_json else settings().units
    ready = readiness(book, cellar).get(standing.tag)
    coming = next_due(standing, cellar, rates, units, looks_due(book, cellar))
    level = level_now(standing, rates.get(standing.tag))
    tests = [each for each in vessel_differences(book, standing.tag) if each.at <= cellar.at]
    found = cautions(before_vessel(standing, DEFAULT if as_json else settings().units))
    trials = trials_of(book, standing.tag)
    if as_json:
        barrel = barrel_row(standing, rates.get(standing.tag)) | {
            "figures": {figure.name: _figure_row(figure) for figure in figures},
            "barrel": standing.vessel.barrel,
            "registered_by": standing.vessel.registered_by,
            "registered_at": standing.vessel.registered_at,
            "due": [due_row(due, cellar) for due in coming],
            "ready": None if ready is None else ready_row(ready, units),
            "trials": [trial_of_barrel(each, standing.tag) for each in trials],
            "cautions": found,
            "scores": vessel_scores(book, standing.tag),
            "difference_tests": [plain(each) | {"words": each.words} for each in tests],
            "entries": [entry_row(entry) for entry in history],
        }
        print_json(barrel)
        return
    left = "" if as_of is not None else wood_line(book, cellar, standing.tag, settings().units)
    _print_barrel(standing, level, figures, coming, left)
    if ready is not None:
        click.echo(f"ready: {ready_words(ready, cellar.at, units)}")
    for each in tests[-_MOST_TESTS:]:
        click.echo(f"tested: {show_day(each.at)} {each.flight}, {each.words}")
    for trial in trials:
        click.echo(f"trial: {barrel_words(trial, standing.tag)}")
    print_cautions(found, err=False)
    for entry in history[-12:]:
        click.echo(f"  {entry_line(entry, settings().units, seen_from=standing.tag)}")


def _figure_row(figure: Figure) -> dict[str, Any]:
    declared = PROPERTIES.get(figure.name)
    unit = unit_written(Quantity.SULPHITE if declared is None else declared.quantity)
    band = {"low": figure.low, "high": figure.high, "measured": figure.measured, "days_ago": figure.days_ago}
    band |= {"added_since": figure.added or None, "at_celsius": figure.at_celsius}
    return {"value": figure.value, "unit": unit, "source": figure.source, "basis": figure.basis or None} | band


def _print_barrel(standing: Standing, level: Level, figures: list[Figure], coming: list[Due], left: str) -> None:
    units = settings().units
    click.echo(f"{standing.tag}  {standing.vessel.kind}  {chalked_place(standing.position)}")
    held = "retired" if standing.is_retired else f"{volume(standing.ml)} of {volume(standing.vessel.capacity_ml)}"
    click.echo(f"  book    {held} ({capacity_words(standing)})")
    if level.is_expected and not standing.is_retired:
        click.echo(f"  now     {format_level(level, units)}{'' if level.is_at_most else ' (90 %)'}: {level.how}")
    _print_origin(standing, left)
    if judged := judged_words(standing):
        click.echo(f"  verdict {judged}")
    for lot, share in standing.lots.items():
        click.echo(f"  lot     {lot} {100 * share:.1f} %")
    for figure in figures:
        if figure.value is not None:
            label = PROPERTIES[figure.name].label if figure.name in PROPERTIES else "molecular SO2"
            value, source = figure_words(figure, units)
            click.echo(f"  {label:<20} {value:>12}   {source}")
    if any(figure.low is not None for figure in figures):
        click.echo(f"  {'':<35}{ALL_BANDS}")
    for line in basis_lines(figures):
        click.echo(f"  basis   {line}")
    for due in coming:
        is_due = due.expected_ml is not None and due.due <= standing.at
        expected = f"; expect {expected_words(due)}" if is_due else ""
        click.echo(f"  next    {due.task.value} {show_day(due.due)}: {due.why}{expected}")
    for warning in dict.fromkeys(due.warning for due in coming if due.warning):
        click.echo(f"  warning {warning}")


def _print_origin(standing: Standing, left: str) -> None:
    """Print what a barrel is made of, what its wood has left, and who registered the vessel."""
    barrel = standing.vessel.barrel
    if barrel is not None:
        click.echo(f"  wood    {wood_words(standing)}, {fill_words(standing)}")
        click.echo(f"  made    {cooperage_words(barrel)}")
    if left:
        click.echo(f"  left    {left}")
    if registered := registered_words(standing.vessel, standing.at):
        click.echo(f"  book    {registered}")
