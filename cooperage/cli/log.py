"""`cooperage log`: one command for each kind of entry, made from the acts' own declarations; and `retire`."""

import re
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from inspect import cleandoc
from typing import TYPE_CHECKING, Any

import click

from cooperage.book import KINDS, Act
from cooperage.book.declared import acts
from cooperage.book.declared.acts import faces
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.from_text import parse_act
from cooperage.cli.log_help import field_help
from cooperage.cli.shared.command import Command, CommandGroup, Option, command, option
from cooperage.cli.shared.complete import LOTS, ROOMS, TAGS, Completer, one_of, tag_argument
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
from cooperage.errors import AskedBack
from cooperage.units import DEFAULT, Quantity, local_day, show

if TYPE_CHECKING:
    from cooperage.book.dangers.dangers import Caution


_COMPLETED: dict[Any, Completer] = {Holds.TAG: TAGS, Holds.LOT: LOTS, Holds.PLACE: TAGS}


def _parameter(kind: type[Act], field: str, face: FieldSpec, *, required: bool) -> click.Parameter:
    name = face.name.replace("-", "_")
    metavar, about = field_help(kind.kind, field, face)
    if face.choices and not about.endswith("."):
        about = f"{about}: {', '.join(face.choices())}."
    completer = one_of(face.choices) if face.choices else ROOMS if name == "room" else _COMPLETED.get(face.holds)
    if face.argument:
        shown = metavar if required else f"[{metavar}]"
        return click.Argument([name], required=required, metavar=shown, help=about, shell_complete=completer)
    if face.holds is Holds.FLAG:
        return Option([f"--{face.name}", name], is_flag=True, help=about)
    names = [f"--{face.name}", f"given_{name}"]
    return Option(names, required=required, help=about, metavar=metavar, shell_complete=completer)


def _given_text(face: FieldSpec, given: dict[str, Any]) -> str:
    name = face.name.replace("-", "_")
    value = given.get(name, given.get(f"given_{name}"))
    return "yes" if value is True else "" if value in (None, False) else str(value)


_BELOW_ZERO = re.compile(r"\A-(?=[.,]?[0-9])")


class _ActCommand(Command):
    """A command whose values may lie below zero: "-5" is a figure, which no option is called."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words; the sign before a figure becomes one that is read as a minus and begins no option."""
        return super().parse_args(ctx, [_BELOW_ZERO.sub("−", word) for word in args])


def _command(kind: type[Act]) -> click.Command:
    own = [face for _, face in faces(kind)]
    parameters = [
        _parameter(kind, declared.name, face, required=is_required(declared)) for declared, face in faces(kind)
    ]
    about = cleandoc(kind.__doc__ or "")
    made: Any = _ActCommand(
        kind.kind, params=parameters, callback=_writes(kind, own), help=about, examples=kind.examples
    )
    for common in (when_option, hand_option, note_option, sure_option, json_option):
        made = common(made)
    return made  # type: ignore[no-any-return] # what the decorators return is what they were given


def _writes(kind: type[Act], own: list[FieldSpec]) -> Callable[..., None]:
    @click.pass_context
    def write(ctx: click.Context, /, **given: Any) -> None:  # noqa: ANN401 - what click hands over
        book, mine = open_book(ctx), settings()
        texts = {face.name: _given_text(face, given) for face in own}
        texts |= {"when": given["when"] or "", "hand": given["hand"] or mine.hand, "note": given["note"]}
        texts["sure"] = "yes" if given["sure"] else ""
        if kind is acts.Strike and not given["sure"]:
            _ask_before_striking(book, texts, as_json=given["as_json"])
        act = parse_act(kind.kind, texts, book.now(), mine.units)
        write_and_print(book, act, as_json=given["as_json"])

    return write


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
        from cooperage.programme.upkeep.shifting import ask_if_taken

        ask_if_taken(cellar, act)
    found = cautions(work_of(act, cellar, settings().units))
    with book.writing() as session:
        written = write_in(session, book, act)
        print_cautions(found)
    _print_written(book, written, found, as_json=as_json)


def _print_written(book: Any, written: Any, found: Sequence["Caution"], *, as_json: bool) -> None:  # noqa: ANN401 - a Book and a Written
    """Print what was written as the book has it, and how the vessels stand now."""
    from cooperage.book.errors import ID_LETTERS
    from cooperage.book.log import entries
    from cooperage.book.words import entry_words
    from cooperage.book.writing.write import tags_in

    with book.reading() as connection:
        [entry] = entries(connection, ids=[written.id])
    cellar, units = book.cellar(), settings().units
    tags = [tag for tag in tags_in(written.act) if tag in cellar]
    if as_json:
        now = {cellar[tag].tag: cellar[tag].litres for tag in tags}
        about = {"id": written.id, "kind": written.act.kind, "happened_at": written.at}
        print_json({**about, "litres": now, "text": entry_words(entry), "cautions": found})
    else:
        held = "; ".join(f"{cellar[tag].tag} holds {show(Quantity.VOLUME, cellar[tag].ml, units)}" for tag in tags)
        text = f"written: {entry_words(entry, units)}; id {written.id[:ID_LETTERS]}"
        click.echo(text + (f"; {held}" if held else ""))


log_command = CommandGroup(
    "log",
    commands=[_command(kind) for kind in KINDS.values()],
    help="Record in the book what was done.",
    aliases={"move": "shift"},
    examples=("cooperage log top B-001 1.4l --from K-01", "cooperage log reading B-001 ph 3.42"),
)


@command("retire", "cooperage retire", "cooperage retire B-034 --reason 'stave split' --json")
@tag_argument(required=False, metavar="[TAG]", help="Tag of the vessel to retire (default: list candidates).")
@option("--reason", metavar="TEXT", help="Why it is retired, such as 'stave split'.")
@when_option
@hand_option
@note_option
@json_option
@click.pass_context
def retire_command(
    ctx: click.Context,
    tag: str | None,
    reason: str | None,
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
    texts["note"] = note
    act = parse_act("retire", texts, book.now(), settings().units)
    write_and_print(book, act, as_json=as_json)


def _print_candidates(book: Any, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.signs.retirement import candidates

    found = candidates(book, DEFAULT if as_json else settings().units)
    if as_json:
        print_json(found)
        return
    for each in found:
        click.echo(f"{each.barrel}  {'; '.join(each.why)}")
    print_cautions_once(each.cautions for each in found)
    if not found:
        click.echo("no barrel is worth retiring now")
