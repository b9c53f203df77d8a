"""`cooperage log`: one command for each kind of entry, made from the acts' own declarations; and `retire`."""

import sys
from collections.abc import Callable
from datetime import datetime
from inspect import cleandoc
from typing import Any

import click

from cooperage.book import KINDS, Act
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from cooperage.cli.given import ActCommand, may_be_several, parameters, several_options, texts_given
from cooperage.cli.shared.command import CommandGroup, command, option
from cooperage.cli.shared.complete import tag_argument
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    note_option,
    open_book,
    print_cautions,
    print_cautions_once,
    print_json,
    settings,
    sure_option,
    when_option,
)
from cooperage.cli.shared.written import cautions_of_several, print_several, print_written
from cooperage.errors import AskedBack
from cooperage.units import DEFAULT, local_day, read_when

together_option = option(
    "--together", is_flag=True, help="Strike all that was written as one act with it, on several vessels."
)


def _command(kind: type[Act]) -> click.Command:
    made: Any = ActCommand(
        kind.kind,
        params=parameters(kind),
        callback=_writes(kind),
        help=cleandoc(kind.__doc__ or ""),
        examples=kind.examples,
    )
    more = [together_option] if kind is acts.Strike else several_options(kind)
    for common in (when_option, hand_option, note_option, *more, sure_option, json_option):
        made = common(made)
    return made  # type: ignore[no-any-return] # what the decorators return is what they were given


def _writes(kind: type[Act]) -> Callable[..., None]:
    @click.pass_context
    def write(ctx: click.Context, /, **given: Any) -> None:  # noqa: ANN401 - what click hands over
        book, mine = open_book(ctx), settings()
        texts = texts_given(kind, given)
        texts |= {"when": given["when"] or "", "hand": given["hand"] or mine.hand, "note": given["note"]}
        texts["sure"] = "yes" if given["sure"] else ""
        as_json = given["as_json"]
        if kind is acts.Strike:
            _strike(book, texts, together=given["together"], as_json=as_json)
        elif given.get("but") or may_be_several(kind, texts):
            _write_several(book, kind, texts, given.get("but", ""), as_json=as_json)
        else:
            write_and_print(book, parse_act(kind.kind, texts, book.now(), mine.units), as_json=as_json)

    return write


def _write_several(book: Any, kind: type[Act], texts: dict[str, str], but: str, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    """Write the same act on every vessel that is named, as one; where that is one vessel, as any other act."""
    from cooperage.programme.ageing.aged import cellar_now
    from cooperage.programme.several.proposed import meant_by
    from cooperage.programme.several.wanted import Ground, Wanted, typed_for_one
    from cooperage.programme.several.written import write_several

    units = settings().units
    at = read_when(texts["when"], book.now()) if texts["when"] else None
    cellar = cellar_now(book, at)
    texts["when"] = "" if at is None else at.isoformat()
    wanted = Wanted(kind.kind, texts, typed_for_one(kind.kind, but))
    meant = meant_by(wanted, cellar, Ground(book, cellar, units))
    done = list(meant.acts.values())
    if len(done) == 1 and not meant.doubts:
        write_and_print(book, done[0], as_json=as_json)
        return
    found = cautions_of_several(done, cellar, units)
    written = write_several(book, meant, sure=bool(texts["sure"]), before=lambda: print_cautions(found))
    print_several(book, written, found, as_json=as_json)


def _strike(book: Any, texts: dict[str, str], *, together: bool, as_json: bool) -> None:  # noqa: ANN401 - a Book
    if not texts["sure"]:
        _ask_before_striking(book, texts, as_json=as_json)
    act = parse_act("strike", texts, book.now(), settings().units)
    if together and isinstance(act, acts.Strike):
        from cooperage.programme.several.written import strike_together

        print_several(book, strike_together(book, act), (), as_json=as_json)
    else:
        write_and_print(book, act, as_json=as_json)


class StrikesAgain(AskedBack):
    """A strike of the last entry that was not written by this hand today, or follows a strike."""


def _ask_before_striking(book: Any, texts: dict[str, str], *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    """Name what 'last' would strike, and ask, where it may not be what the hand thinks it is."""
    if texts["entry"].strip().lower() != "last":
        return
    from cooperage.book.log import entries
    from cooperage.book.words import entry_line

    with book.reading() as connection:
        newest = entries(connection, newest=1, in_written_order=True)
        standing = entries(connection, newest=1, standing=True, in_written_order=True)
    if not standing:
        return
    [last] = standing
    if newest[0].id == last.id and not _is_foreign(last, texts["hand"], book.now()):
        return
    words = f"this would strike {entry_line(last, settings().units)}"
    if as_json or not sys.stdin.isatty():
        raise StrikesAgain(f"{words}. If this is right, repeat the command with --sure.")
    if not click.confirm(f"{words}. Strike it?", err=True):
        raise StrikesAgain("nothing was struck")


def _is_foreign(entry: Any, hand: str, now: datetime) -> bool:  # noqa: ANN401 - an Entry
    return bool(entry.hand != hand) or local_day(entry.written_at) != local_day(now)


def write_and_print(book: Any, act: Act, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    """Write an act, its cautions printed once the book takes it and before it holds; then print the vessels' state."""
    from cooperage.book.dangers.dangers import cautions
    from cooperage.book.dangers.work import work_of
    from cooperage.programme.together import write_in

    cellar = book.cellar(act.at)
    if isinstance(act, acts.Shift):
        from cooperage.programme.upkeep.shifting import ask_of_shift

        ask_of_shift(cellar, act)
    found = cautions(work_of(act, cellar, settings().units))
    with book.writing() as session:
        written = write_in(session, book, act)
        print_cautions(found)
    print_written(book, written, found, as_json=as_json)


_HELP = """Record in the book what was done.

Several vessels are named as B-001,B-004, as a series B-001..B-008 or by words such as 'lot HE-24', 'room Loft', empty.
All of it is written, or nothing. Fill and rack then share out what there is, top proposes what is expected to be
missing, and an addition may be given as '2 g/hL'. As many figures as vessels, such as '200 220 L', go to them in order.
"""

log_command = CommandGroup(
    "log",
    commands=[_command(kind) for kind in KINDS.values()],
    help=_HELP,
    aliases={"move": "shift"},
    examples=("cooperage log top B-001 1.4l --from K-01", "cooperage log reading B-001 ph 3.42"),
)


@command(
    "retire",
    "cooperage retire",
    "cooperage retire B-034 --reason 'stave split' --json",
    "cooperage retire B-017 --reason 'neutral wood' --disposition 'sold to a gardener' --received 45",
)
@tag_argument(required=False, metavar="[TAG]", help="Tag of the vessel to retire (default: list candidates).")
@option("--reason", metavar="TEXT", help="Why it is retired, such as 'stave split'.")
@option("--disposition", metavar="TEXT", default="", help="What became of it, such as 'sold to a gardener'.")
@option("--received", metavar="MONEY", default="", help="What it was sold for; leave it out if unknown.")
@when_option
@hand_option
@note_option
@json_option
@click.pass_context
def retire_command(
    ctx: click.Context,
    tag: str | None,
    reason: str | None,
    disposition: str,
    received: str,
    when: str | None,
    hand: str | None,
    note: str,
    as_json: bool,
) -> None:
    """Retire a vessel; without a tag, list the barrels worth retiring and why."""
    book = open_book(ctx)
    if tag is None:
        _print_candidates(book, as_json=as_json)
        return
    texts = {"vessel": tag, "reason": reason or "", "when": when or "", "hand": hand or settings().hand}
    texts |= {"note": note, "disposition": disposition, "received": received}
    act = parse_act("retire", texts, book.now(), settings().units)
    write_and_print(book, act, as_json=as_json)


def _print_candidates(book: Any, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.wood.standings import candidates

    found = candidates(book, DEFAULT if as_json else settings().units)
    if as_json:
        print_json(found)
        return
    for each in found:
        click.echo(f"{each.barrel}  {each.verdict}: {'; '.join(each.why)}")
    print_cautions_once(each.cautions for each in found)
    if not found:
        click.echo("no barrel is worth retiring now")
