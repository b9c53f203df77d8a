"""`cooperage taste sheet` and `taste score`: a sheet to score on, and scores into the book."""

from pathlib import Path

import click

from cooperage.book import Book
from cooperage.book.declared.verdicts import verdict_in
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import BadCall, json_option, open_book, print_json, settings, sure_option
from cooperage.cli.shared.paste import piped_file
from cooperage.cli.taste.shown import flight_argument, given_row
from cooperage.exchange.score_sheets import sheet_table, take_scores
from cooperage.exchange.tastings.answer_sheets import answer_table, take_answers
from cooperage.tasting.difference.answering import answer, answered_words
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.sheet import COLUMNS, answer_rows, answer_sheet
from cooperage.tasting.difference.stored import any_flight
from cooperage.tasting.flights.line import TypedScore, announced, parse_glass_line
from cooperage.tasting.flights.orders import orders_for
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.scoring import add_score
from cooperage.tasting.flights.shape import Flight
from cooperage.tasting.flights.sheet import sheet_columns, sheet_lines, sheet_rows
from cooperage.tasting.flights.stored import flight
from cooperage.tasting.in_line import LEFT_OUT
from cooperage.units import Quantity, counted, read


@command(
    "sheet",
    "cooperage taste sheet F-4 --taster Tove",
    "cooperage taste sheet F-4 --csv",
    "cooperage taste sheet F-4 --json",
)
@flight_argument
@option("--taster", "tasters", multiple=True, metavar="NAME", help="Whose sheet (default: everybody's who tastes).")
@option("--csv", "as_csv", is_flag=True, help="Print a CSV table, which `taste score --file` reads back.")
@sure_option
@json_option
@click.pass_context
def sheet_command(
    ctx: click.Context, code: str, tasters: tuple[str, ...], as_csv: bool, sure: bool, as_json: bool
) -> None:
    """Print a sheet to score on: codes in each taster's own order, what is scored, and never what is in a glass."""
    book = open_book(ctx)
    if isinstance(any_flight(book, code), DifferenceFlight):
        from cooperage.tasting.difference.pouring import draw_for  # brings NumPy

        _print_answer_sheets(*draw_for(book, code, tasters, sure=sure), as_csv=as_csv, as_json=as_json)
        return
    poured, names = orders_for(book, code, tasters, sure=sure)
    if as_json:
        print_json(
            {"columns": sheet_columns(poured), "rows": [row for name in names for row in sheet_rows(poured, name)]}
        )
    elif as_csv:
        click.echo(sheet_table(poured, names), nl=False)
    else:
        pages = ["\n".join(sheet_lines(poured, name)) for name in names]
        click.echo("\n\f\n".join(pages) if len(pages) > 1 else pages[0])


def _print_answer_sheets(test: DifferenceFlight, names: list[str], *, as_csv: bool, as_json: bool) -> None:
    if as_json:
        print_json({"columns": COLUMNS, "rows": [row for name in names for row in answer_rows(test, name)]})
    elif as_csv:
        click.echo(answer_table(test, names), nl=False)
    else:
        click.echo("\n\f\n".join("\n".join(answer_sheet(test, name)) for name in names))


@command(
    "score",
    "cooperage taste score F-4 123 Iko 14.5 --words 'bright, long'   # refused: F-4 is revealed",
    "cooperage taste score F-4 123 Iko --line '6 3 7 5 12.5 vanilla; look again 8 weeks'   # refused: F-4 is revealed",
    "cooperage taste score F-4 --file scores.csv   # refused: F-4 is revealed",
    "cooperage taste score F-4 '607 215' Iko   # refused: F-4 is no difference test, whose answers are codes",
)
@flight_argument
@click.argument("glass", required=False, help="Code on the glass, as 873; of a test, what is named.")
@click.argument("taster", required=False, help="Name of the taster.")
@click.argument(
    "value", required=False, metavar="SCORE", help="Score on the flight's scale; use - to leave it as it is."
)
@option("--attribute", "attributes", multiple=True, metavar="NAME[=VALUE]", help="Score of an attribute, as oak=6.")
@option("--words", metavar="TEXT", default="", help="Tasting notes, such as 'bright, long'.")
@option(
    "--verdict", metavar="TEXT", default="", help="What to do with it: keep, 'look again 8 weeks', ready, blend, ..."
)
@option("--line", metavar="TEXT", default="", help="All of a glass as it stands on the sheet: figures, words; verdict.")
@option("--file", "path", type=click.Path(path_type=Path), metavar="NAME", help="CSV table of scores; - reads stdin.")
@sure_option
@json_option
@click.pass_context
def score_command(
    ctx: click.Context,
    code: str,
    glass: str | None,
    taster: str | None,
    value: str | None,
    attributes: tuple[str, ...],
    words: str,
    verdict: str,
    line: str,
    path: Path | None,
    sure: bool,
    as_json: bool,
) -> None:
    """Record a taster's scores of a glass, or those of a file; what is not given stays as it was."""
    book = open_book(ctx)
    is_test = isinstance(any_flight(book, code), DifferenceFlight)
    if path is not None:
        if glass is not None:
            raise BadCall("give a glass or --file, not both")
        file = piped_file(path, "standard input")
        if is_test:
            _print_counts(code, take_answers(book, code, file, sure=sure), "set", as_json=as_json)
        else:
            _print_counts(code, take_scores(book, code, file, sure=sure), "glass", as_json=as_json)
        return
    if glass is None or taster is None:
        raise BadCall("give the glass and the taster, or --file with a table of scores")
    if is_test:
        if value or attributes or words or verdict or line:
            raise BadCall(f"{code} is a difference test, whose answers are codes alone; leave out the scores")
        _answer(book, code, taster, glass, sure=sure, as_json=as_json)
        return
    poured = flight(book, code)
    if line:
        if value or attributes or words or verdict:
            raise BadCall("--line holds all of a glass; leave out the score and the other options")
        typed = parse_glass_line(line, poured)
    else:
        typed = _typed(poured, value, attributes, words, verdict)
    given = add_score(book, code, glass, taster, typed, sure=sure)
    name = poured.taster_named(taster)
    if as_json:
        print_json({"flight": poured.code, "glass": glass, "taster": name, "score": given.value} | given_row(given))
    else:
        click.echo(f"{glass}  {name}  {announced(typed, poured, settings().units)}")


def _typed(poured: Flight, value: str | None, attributes: tuple[str, ...], words: str, verdict: str) -> TypedScore:
    """Return what the options give a glass; raises BadCall where they give nothing."""
    figures: dict[str, float | None] = {}
    for text in attributes:
        name, equals, figure = text.partition("=")
        if not equals:
            raise BadCall(f"'{text}' has no figure; give it as {text}=6")
        figures[poured.attribute(name).name] = None if figure == LEFT_OUT else float(read(Quantity.NUMBER, figure))
    if value not in (None, LEFT_OUT):
        figures[OVERALL] = float(read(Quantity.NUMBER, str(value)))
    if not (figures or words or verdict):
        raise BadCall("nothing is given; give a score, --attribute, --words, --verdict or --line")
    return TypedScore(figures, words, verdict_in(verdict) if verdict else None)


def _answer(book: Book, code: str, taster: str, line: str, *, sure: bool, as_json: bool) -> None:
    """Write a taster's answers and print what was taken."""
    test, sets = answer(book, code, taster, line, sure=sure)
    name = test.taster_named(taster)
    if as_json:
        rows = [{"round": each.round, "glasses": each.codes, "answer": each.answer} for each in sets]
        print_json({"flight": test.code, "taster": name, "answers": rows})
    else:
        click.echo(f"{name}  {answered_words(test, name, sets)}")


def _print_counts(code: str, counts: dict[str, int], what: str, *, as_json: bool) -> None:
    if as_json:
        print_json({"flight": code, "sets_answered" if what == "set" else "glasses_scored": counts})
        return
    click.echo("no row gives anything" if not counts else f"flight {code}:")
    for taster, count in counts.items():
        done = f"answered {counted(count, 'set')}" if what == "set" else f"scored {counted(count, 'glass', 'glasses')}"
        click.echo(f"  {taster} {done}")
