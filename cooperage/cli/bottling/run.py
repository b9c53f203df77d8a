"""`cooperage bottling open`, its lines, and `close`: parse, call one function, print."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import click

from cooperage.cli.bottling.risks import label_option, print_risks
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import RUNS, TAGS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    number,
    open_book,
    print_cautions,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.cli.shared.profile import profile_option
from cooperage.errors import BadInput
from cooperage.programme.bottling.run import BottlingRun, RunLine, RunLineKind
from cooperage.programme.bottling_risks.typed import USUAL_SIZES, read_label, read_reasons, read_sizes
from cooperage.units import Quantity, read, read_bottles, read_volume

_Function = TypeVar("_Function", bound=Callable[..., Any])
_size = option("--size", metavar="SIZE", help="Which bottle, such as 750ml; left out where the run has one size.")


_OPENED = "cooperage bottling open NIGHT-26 T-1 --label 13.5 --pass 'living yeast=sterile filtered'"


def _shown_after_opening(words: str) -> str:
    """Return an example that opens a run first."""
    return f"{_OPENED} && cooperage bottling {words}"


class NotAsked(BadInput):
    """A call that gives too little or too much."""


def _run_argument(given: _Function) -> _Function:
    return click.argument("code", shell_complete=RUNS, help="Code of the run.")(given)


@command(
    "open",
    _OPENED,
    "cooperage bottling open SHORE-26 B-003 B-004 --sizes 375ml=96,750ml --pass 'living yeast=sterile filtered' "
    "--pass 'strength=measured today' --line-loss 2.5l --json",
)
@_run_argument
@click.argument(
    "vessels", nargs=-1, required=True, shell_complete=TAGS, help="Tags of what is bottled, in the order it is drawn."
)
@option("--sizes", metavar="SIZES", default=USUAL_SIZES, help="Bottles, such as 750ml or 375ml=96,750ml.")
@label_option
@profile_option
@option(
    "--pass",
    "passed",
    metavar="RISK=REASON",
    multiple=True,
    help="Pass a risk with a reason, which is kept; each trouble needs one.",
)
@option("--line-loss", metavar="VOLUME", help="What is expected to stay in the line (default: 1 %, give or take it).")
@hand_option
@json_option
@click.pass_context
def open_command(ctx: click.Context, /, code: str, vessels: tuple[str, ...], *, as_json: bool, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Open a bottling run: its risks are shown, and each trouble is passed with a reason, else it stays closed."""
    from cooperage.programme.bottling.opening import open_run
    from cooperage.programme.bottling.words import expected_words
    from cooperage.programme.bottling_risks.risk import risk_row
    from cooperage.programme.bottling_risks.risks import risks

    book, mine = open_book(ctx), settings()
    sizes = read_sizes(given["sizes"])
    label = read_label(given["label"], mine.units)
    found = risks(book, vessels, sizes, label=label, profile=given["profile"], units=mine.units)
    if not as_json:
        print_risks(found, mine.units)
    run = open_run(
        book,
        code,
        vessels,
        sizes,
        found,
        read_reasons(given["passed"]),
        label=label,
        profile=given["profile"],
        line_loss_ml=_volume(given["line_loss"]),
        hand=given["hand"] or mine.hand,
    )
    if as_json:
        _print_json(book, run, risks=[risk_row(each) for each in found])
        return
    click.echo(f"Written: run {run.code} is open on {', '.join(run.vessels)}.")
    click.echo(expected_words(run, mine.units))


def _volume(text: str | None) -> int | None:
    return None if text is None else read_volume(text, settings().units)


def _size_ml(text: str | None) -> int | None:
    return None if text is None else read_volume(text)


def _print_json(book: Any, run: BottlingRun, **more: Any) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.bottling.stored import codes_of
    from cooperage.programme.bottling.words import run_row

    with book.reading() as connection:
        bottlings = codes_of(connection, run)
    print_json(run_row(run, bottlings) | more)


def _print_line(book: Any, run: BottlingRun, line: RunLine, more: Sequence[str] = (), *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.bottling.words import so_far_words

    if as_json:
        _print_json(book, run, written=line.number, fill=list(more))
        return
    click.echo(f"Written: line {line.number}, {line.kind.value}.")
    for words in (*more, so_far_words(run, settings().units)):
        click.echo(words)


def _write(ctx: click.Context, code: str, kind: RunLineKind, hand: str | None, as_json: bool, **line: Any) -> None:  # noqa: ANN401 - the fields of a line
    from cooperage.programme.bottling.writing import write_line

    book = open_book(ctx)
    run, written = write_line(book, code, kind, hand=hand or settings().hand, **line)
    _print_line(book, run, written, as_json=as_json)


def _counting(name: str, kind: RunLineKind, about: str, example: str) -> click.Command:
    @command(name, _shown_after_opening(f"{name} NIGHT-26 {example}"))
    @_run_argument
    @click.argument("bottles", help="Bottles, loose or in cases: 48, 4x12, 4x12+3.")
    @_size
    @sure_option
    @hand_option
    @json_option
    @click.pass_context
    def write(
        ctx: click.Context, code: str, bottles: str, size: str | None, sure: bool, hand: str | None, as_json: bool
    ) -> None:
        count = read_bottles(bottles, settings().units)
        _write(ctx, code, kind, hand, as_json, bottles=count, bottle_ml=_size_ml(size), sure=sure)

    made: click.Command = write
    made.help = about
    return made


def _pouring(name: str, kind: RunLineKind, about: str, example: str) -> click.Command:
    @command(name, _shown_after_opening(f"{name} NIGHT-26 {example}"))
    @_run_argument
    @click.argument("volume", help="How much, such as 200ml.")
    @hand_option
    @json_option
    @click.pass_context
    def write(ctx: click.Context, code: str, volume: str, hand: str | None, as_json: bool) -> None:
        _write(ctx, code, kind, hand, as_json, ml=_volume(volume))

    made: click.Command = write
    made.help = about
    return made


def _noting(name: str, kind: RunLineKind, about: str, what: str, example: str) -> click.Command:
    @command(name, _shown_after_opening(f"{name} NIGHT-26 {example}"))
    @_run_argument
    @click.argument("words", help=what)
    @hand_option
    @json_option
    @click.pass_context
    def write(ctx: click.Context, code: str, words: str, hand: str | None, as_json: bool) -> None:
        if not words.strip():
            raise NotAsked(f"write {what[:1].lower()}{what[1:]}")
        _write(ctx, code, kind, hand, as_json, words=words.strip())

    made: click.Command = write
    made.help = about
    return made


LINES = (
    _counting("filled", RunLineKind.FILLED, "Write bottles that were filled.", "4x12"),
    _counting("reject", RunLineKind.REJECTS, "Write bottles that were rejected; their mead is lost.", "3 --json"),
    _pouring("sample", RunLineKind.SAMPLE, "Write a sample; bottles that are retained are none.", "200ml"),
    _pouring("loss", RunLineKind.LOSS, "Write what was lost in line, pump and filter.", "1.5l --json"),
    _noting("closure", RunLineKind.CLOSURE, "Write which closures are in use.", "Lot of the closures.", "'cork 1204'"),
    _noting("stop", RunLineKind.STOP, "Write that the line stood, and why.", "Why the line stood.", "'corker jammed'"),
    _noting("note", RunLineKind.NOTE, "Write a note on the run.", "The note.", "'clear, no haze' --json"),
)
"""The commands that write one line each."""


@command("check", _shown_after_opening("check NIGHT-26 1255.5 1254.8 1256.1 --tare 512 --gravity 1.012"))
@_run_argument
@click.argument(
    "figures", nargs=-1, required=True, help="Grams of full bottles; millilitres or millimetres with an option."
)
@_size
@option("--tare", metavar="GRAMS", type=number, help="What a bottle weighs empty, with its closure if that is on.")
@option("--by-volume", "by_volume", is_flag=True, help="The figures are volumes in ml.")
@option("--neck", metavar="MM", type=number, help="Bore of the neck: figures are mm above the mark, -2 below it.")
@option("--temperature", metavar="TEMPERATURE", help="Of the mead in them (default: as it is in the vessel).")
@option("--gravity", metavar="GRAVITY", help="Measured gravity (default: that of its strength and sugar).")
@hand_option
@json_option
@click.pass_context
def check_command(ctx: click.Context, /, code: str, figures: tuple[str, ...], *, as_json: bool, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Check fills by weight, by volume, or by level in the neck: mean and shortest beside what the rules tolerate.

    Volumes are those at 20 °C. A weight becomes one by the density of the mead at its temperature.
    """
    from cooperage.programme.bottling.fills import check_words
    from cooperage.programme.bottling.stored import find_open_run
    from cooperage.programme.bottling.typed_line import Weighed, signed_number
    from cooperage.programme.bottling.writing import size_of, write_line

    book, mine = open_book(ctx), settings()
    with book.reading() as connection:
        run = find_open_run(connection, code)
    size = size_of(run, _size_ml(given["size"]))
    celsius, gravity = (
        None if given[name] is None else float(read(quantity, given[name], mine.units))
        for name, quantity in (("temperature", Quantity.TEMPERATURE), ("gravity", Quantity.GRAVITY))
    )
    if [given["tare"] is not None, given["by_volume"], given["neck"] is not None].count(True) != 1:
        raise NotAsked("give --tare, what a bottle weighs empty [g]; or --by-volume; or --neck for levels [mm]")
    values = tuple(signed_number(each, mine.units) for each in figures)
    volumes = Weighed(values, given["tare"], given["neck"], celsius, gravity).volumes(book, run, size)
    hand = given["hand"] or mine.hand
    run, line = write_line(book, run.code, RunLineKind.CHECK, bottle_ml=size, volumes_ml=volumes, hand=hand)
    _print_line(book, run, line, check_words(book, run, size, mine.units), as_json=as_json)


@command("strike", _shown_after_opening("stop NIGHT-26 jam && cooperage bottling strike NIGHT-26 1 --why 'no stop'"))
@_run_argument
@click.argument("number", type=int, help="Number of the line, as `show` has it.")
@option("--why", metavar="TEXT", default="", help="What was wrong with it.")
@hand_option
@json_option
@click.pass_context
def strike_command(ctx: click.Context, code: str, number: int, why: str, hand: str | None, as_json: bool) -> None:
    """Strike a wrong line of an open run by another; both stay to be seen."""
    from cooperage.programme.bottling.writing import strike_line

    book = open_book(ctx)
    run, line = strike_line(book, code, number, words=why.strip(), hand=hand or settings().hand)
    _print_line(book, run, line, as_json=as_json)


@command("list", "cooperage bottling list", "cooperage bottling list --json")
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_json: bool) -> None:
    """List the bottling runs, with what was filled."""
    from cooperage.programme.bottling.stored import codes_of, runs_in
    from cooperage.programme.bottling.words import RUN_HEAD, run_cells, run_row

    with open_book(ctx).reading() as connection:
        runs = [(run, codes_of(connection, run)) for run in runs_in(connection)]
    if as_json:
        print_json([run_row(run, bottlings) for run, bottlings in runs])
        return
    rows = [run_cells(run, bottlings, settings().units) for run, bottlings in runs]
    print_table(RUN_HEAD, rows, empty="No bottling run yet; `cooperage bottling open` begins one.")


@command("show", _shown_after_opening("show NIGHT-26 --json"))
@click.argument("code", required=False, default="", shell_complete=RUNS, help="Code of the run (default: the open).")
@json_option
@click.pass_context
def show_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show a run: what was expected, its lines, its fill checks, and what it came to."""
    from cooperage.programme.bottling.stored import find_open_run, find_run

    book = open_book(ctx)
    with book.reading() as connection:
        run = find_run(connection, code) if code else find_open_run(connection, "")
    if as_json:
        _print_json(book, run)
        return
    _print_run(book, run)


def _print_run(book: Any, run: BottlingRun) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.bottling.shown import reason_lines, run_shown
    from cooperage.programme.bottling.words import LINE_HEAD, expected_words, line_cells, so_far_words, yield_words

    units = settings().units
    shown = run_shown(book, run.code, units)
    click.echo(expected_words(run, units))
    print_table(LINE_HEAD, [line_cells(run, line, units) for line in run.lines], (0, 3, 4), empty="No line yet.")
    for words in (*shown.fills, so_far_words(run, units), *yield_words(run, units), *reason_lines(shown.passed)):
        click.echo(words)


@command(
    "close",
    _shown_after_opening(
        "filled NIGHT-26 4x12 && cooperage bottling close NIGHT-26 --retained 6 --store library --line-loss 2l"
    ),
)
@_run_argument
@option(
    "--retained",
    metavar="BOTTLES",
    default="0",
    help="Bottles put by: of every size, such as 6, or by size: 750ml=6,375ml=2.",
)
@option("--store", metavar="STORE", default="", help="Where they are put (default: retained samples).")
@option("--rest", metavar="WHERE", default="stays", help="What becomes of the rest: stays, lost, or a vessel's tag.")
@option("--line-loss", metavar="VOLUME", help="What stayed in the line, beside what was written of it already.")
@sure_option
@hand_option
@json_option
@click.pass_context
def close_command(ctx: click.Context, /, code: str, *, sure: bool, as_json: bool, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Close a run: bottlings, samples, losses and the rest are written at once, balanced to the millilitre, or nothing.

    Several vessels are drawn from in their order: a bottle comes whole out of one, and what is left in a vessel that is
    no bottle any more goes to what was lost, then to what was sampled. Each size and vessel is a bottling of its own.
    """
    from cooperage.programme.bottling.closing import HowClosed, read_retained
    from cooperage.programme.bottling.stored import find_open_run
    from cooperage.programme.orders.bottled import close_run
    from cooperage.programme.upkeep.cautions import cautions_of_bottling

    book, mine = open_book(ctx), settings()
    with book.reading() as connection:
        before = find_open_run(connection, code)
    found = cautions_of_bottling(before.vessels, book.cellar(), mine.units)
    retained = read_retained(given["retained"], before, mine.units)
    how = HowClosed(given["rest"], retained, given["store"], _volume(given["line_loss"]) or 0)
    print_cautions(found)
    run = close_run(book, code, how, hand=given["hand"] or mine.hand, sure=sure)
    if as_json:
        _print_json(book, run, cautions=found)
        return
    _print_closed(book, run)


def _print_closed(book: Any, run: BottlingRun) -> None:  # noqa: ANN401 - a Book
    from cooperage.book.errors import ID_LETTERS
    from cooperage.book.log import entries
    from cooperage.book.words import entry_words
    from cooperage.programme.bottling.words import yield_words

    units = settings().units
    assert run.closed is not None, "it was just closed"
    with book.reading() as connection:
        written = entries(connection, ids=run.closed.entries)
    for entry in written:
        click.echo(f"written: {entry_words(entry, units)}; id {entry.id[:ID_LETTERS]}")
    for words in yield_words(run, units):
        click.echo(words)
    if len(written) > 1:
        click.echo(f"`cooperage log strike {written[0].id[:ID_LETTERS]} --together` opens the run again")
