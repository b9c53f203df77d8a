"""`cooperage taste peek`, `reveal`, `judge` and `results`: what is in the glasses, and what follows from it."""

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from cooperage.book.declared.verdicts import Judgement, verdict_in
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import (
    BadCall,
    hand_option,
    json_option,
    note_option,
    open_book,
    plain,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.cli.shared.digits import four_digits
from cooperage.cli.taste.shown import flight_argument, flight_row, glass_name, glasses_opened
from cooperage.cli.taste.tests import difference_row, print_outcome, print_pour
from cooperage.tasting.difference.closing import peek_any, reveal_any
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import any_flight
from cooperage.tasting.flights.closing import (
    PanelVerdict,
    departed_words,
    judge_flight,
    panel_verdicts,
    peeked_words,
)
from cooperage.tasting.flights.line import scale_of
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.shape import Flight
from cooperage.units import Quantity, show

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cooperage.tasting.flights.outcome import Results

_LOOKED_UP = "Written: who looked it up, and when. Whoever saw this should not taste."


@command("peek", "cooperage taste peek F-4", "cooperage taste peek F-4 --json")
@flight_argument
@hand_option
@json_option
@click.pass_context
def peek_command(ctx: click.Context, code: str, hand: str | None, as_json: bool) -> None:
    """Look up what is in the glasses of a blind flight; that you did is written, and shown with its results."""
    poured = peek_any(open_book(ctx), code, hand=hand or settings().hand)
    if isinstance(poured, DifferenceFlight):
        row, show = difference_row(poured, is_open=True), partial(print_pour, poured)
    else:
        row, show = {"code": poured.code, "glasses": glasses_opened(poured)}, partial(_print_glasses, poured)
    if as_json:
        print_json(row)
        return
    show()
    if poured.is_blind:
        click.echo(_LOOKED_UP)


@command("reveal", "cooperage taste reveal F-4", "cooperage taste reveal F-4 --sure --json")
@flight_argument
@sure_option
@hand_option
@json_option
@click.pass_context
def reveal_command(ctx: click.Context, code: str, sure: bool, hand: str | None, as_json: bool) -> None:
    """Reveal the codes and lock the scores: the flight is closed.

    One that was poured by mistake is closed the same way, with --sure, without a score.
    """
    book = open_book(ctx)
    poured = reveal_any(book, code, hand=hand or settings().hand, sure=sure)
    if isinstance(poured, DifferenceFlight):
        print_outcome(book, poured, as_json=as_json)
        return
    found = panel_verdicts(poured)
    if as_json:
        print_json(flight_row(poured) | {"verdicts": [_verdict_row(each) for each in found]})
        return
    _print_glasses(poured)
    _print_verdicts(poured, found)


def _print_glasses(poured: Flight) -> None:
    for glass in poured.glasses:
        click.echo(f"  glass {glass.code}  {glass_name(glass)}")


def _verdict_row(found: PanelVerdict) -> dict[str, Any]:
    return {"vessel": found.vessel, "votes": found.votes, "proposed": _judgement_row(found.proposed)}


def _print_verdicts(poured: Flight, found: list[PanelVerdict]) -> None:
    """Print what the panel decided, and how that is written in the book."""
    for each in found:
        proposed = each.proposed.words if each.proposed else "no majority"
        click.echo(f"  {each.vessel}  {proposed}  ({each.words})")
    if any(each.proposed for each in found):
        click.echo(f"`cooperage taste judge {poured.code} --proposed` writes these verdicts in the book.")


@command(
    "judge",
    "cooperage taste judge F-4 B-012='look again 8 weeks' B-028=quarantine",
    "cooperage taste judge F-4 --proposed B-012=keep --json",
)
@flight_argument
@click.argument(
    "decided", nargs=-1, metavar="[TAG=VERDICT...]", help="Verdict of a vessel, as B-012='look again 8 weeks'."
)
@option(
    "--proposed",
    is_flag=True,
    help="Write what more than half of two tasters or more agree on; a verdict given by hand stands in its place.",
)
@hand_option
@note_option
@json_option
@click.pass_context
def judge_command(
    ctx: click.Context,
    code: str,
    decided: tuple[str, ...],
    proposed: bool,
    hand: str | None,
    note: str,
    as_json: bool,
) -> None:
    """Write what was decided about vessels of a revealed flight: an entry each, struck together if need be."""
    verdicts = dict(_decided(text) for text in decided)
    written = judge_flight(open_book(ctx), code, verdicts, proposed=proposed, hand=hand or settings().hand, note=note)
    if as_json:
        rows = [{"vessel": each.vessel, "entry": each.entry_id} | _judgement_row(each.decided) for each in written]
        print_json(rows)
        return
    for each in written:
        click.echo(f"  {each.vessel}  {each.decided.words}")


def _judgement_row(judgement: Judgement | None) -> dict[str, Any]:
    word, weeks = judgement or (None, None)
    return {"verdict": word, "weeks": weeks}


def _decided(text: str) -> tuple[str, Judgement]:
    tag, equals, verdict = text.partition("=")
    if not equals:
        raise BadCall(f"'{text}' is no vessel and verdict; give it as {text}=keep")
    return tag.strip(), verdict_in(verdict)


@command("results", "cooperage taste results F-4", "cooperage taste results F-4 --json")
@flight_argument
@json_option
@click.pass_context
def results_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show what a revealed flight found, glass by glass or as a difference test, and what so few cannot show."""
    from cooperage.tasting.flights.outcome import all_results  # brings NumPy

    book = open_book(ctx)
    poured = any_flight(book, code)
    if isinstance(poured, DifferenceFlight):
        print_outcome(book, poured, as_json=as_json)
        return
    found = all_results(poured, settings().units)
    verdicts = panel_verdicts(poured)
    if as_json:
        overall = _results_row(found.get(OVERALL), poured.scale)
        others = {
            name: {"scale": scale_of(poured, name)} | _results_row(each, scale_of(poured, name))
            for name, each in found.items()
            if name != OVERALL
        }
        about: dict[str, Any] = {"code": poured.code, "scale": poured.scale, "attributes": others}
        about |= {"verdicts": [_verdict_row(each) for each in verdicts], "peeks": poured.peeks}
        about |= {"left_early": poured.departed}
        print_json(about | overall)
        return
    if not found:
        click.echo(f"flight {poured.code} was revealed without a score")
    if OVERALL in found:
        _print_results(found[OVERALL])
    _print_attributes(poured, found)
    _print_verdicts(poured, verdicts)
    for line in (*departed_words(poured), *peeked_words(poured.peeks)):
        click.echo(line)


def _print_attributes(poured: Flight, found: "Mapping[str, Results]") -> None:
    """Print the adjusted mean of each attribute, each on its own scale, and the gap that shows a difference."""
    others = {name: each for name, each in found.items() if name != OVERALL}
    if not others:
        return
    means = {name: {row.glass.code: row.adjusted for row in each.rows} for name, each in others.items()}
    ranked = [row.glass for row in found[OVERALL].rows] if OVERALL in found else poured.glasses
    lines = [
        (glass.code, glass_name(glass), *(_one_place(given.get(glass.code)) for given in means.values()))
        for glass in ranked
    ]
    gaps = [_one_place(each.summary.least_gap) for each in others.values()]
    header = ("glass", "vessel", *(f"{name} {scale_of(poured, name)}" for name in others))
    print_table(header, [*lines, ("", "differ by over", *gaps)], right=tuple(range(2, len(header))))


def _one_place(value: float | None) -> str:
    """Return a figure to one decimal place; a question mark where it is not known."""
    return show(Quantity.NUMBER, value, settings().units, digits=1)


def _results_row(found: "Results | None", scale: str) -> dict[str, Any]:
    """Return results as scripts read them: each row's figures are points of the scale beside them."""
    if found is None:
        return {"rows": [], "words": []}
    rows = [
        four_digits(plain(row)) | {"scale": scale, "glass": row.glass.code, "vessel": row.glass.vessel}
        for row in found.rows
    ]
    return {"rows": rows, "words": found.words}


def _print_results(found: "Results") -> None:
    lines = [
        (row.glass.code, glass_name(row.glass), _one_place(row.mean), _one_place(row.adjusted), str(row.tasted))
        for row in found.rows
    ]
    print_table(("glass", "vessel", "mean", "adjusted", "tasters"), lines, right=(2, 3, 4))
    for line in found.words:
        click.echo(line)
