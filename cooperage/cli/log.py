"""`cooperage log`: one command for each kind of entry, made from the acts' own declarations; and `retire`."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

from cooperage.book import KINDS, Act
from cooperage.book.declared import acts
from cooperage.book.declared.acts import faces
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.from_text import parse_act
from cooperage.cli.shared.desk import json_option, open_book, print_cautions, print_cautions_once, print_json, settings
from cooperage.units import DEFAULT, Quantity, show

if TYPE_CHECKING:
    from cooperage.book.dangers.dangers import Caution


def _parameter(face: FieldSpec, *, required: bool) -> click.Parameter:
    name = face.name.replace("-", "_")
    if face.argument:
        return click.Argument(
            [name], required=required, metavar=face.name.upper() if required else f"[{face.name.upper()}]"
        )
    if face.holds is Holds.FLAG:
        return click.Option([f"--{face.name}", name], is_flag=True, help=face.label)
    about = face.label
    if face.choices:
        about += f": {', '.join(face.choices())}"
    return click.Option(
        [f"--{face.name}", f"said_{name}"], required=required, help=about, metavar=face.holds.value.upper()
    )


def _given_text(face: FieldSpec, given: dict[str, Any]) -> str:
    name = face.name.replace("-", "_")
    value = given.get(name, given.get(f"said_{name}"))
    return "yes" if value is True else "" if value in (None, False) else str(value)


def _command(kind: type[Act]) -> click.Command:
    own = [face for _, face in faces(kind)]
    parameters = [_parameter(face, required=is_required(declared)) for declared, face in faces(kind)]
    common = [
        click.Option(["--when", "--at", "--on", "when"], metavar="WHEN", help="When it was done, if not just now."),
        click.Option(["--hand"], help="Whose hand it was."),
        click.Option(["--note"], default="", help="A short note."),
        click.Option(["--sure"], is_flag=True, help="Yes, it is so: answers a question back beforehand."),
    ]
    command = click.Command(
        kind.kind, params=[*parameters, *common], callback=_writes(kind, own), help=(kind.__doc__ or "").strip()
    )
    return json_option(command)


def _writes(kind: type[Act], own: list[FieldSpec]) -> Callable[..., None]:
    @click.pass_context
    def write(ctx: click.Context, /, **given: Any) -> None:  # noqa: ANN401 - what click hands over
        book, mine = open_book(ctx), settings()
        texts = {face.name: _given_text(face, given) for face in own}
        texts |= {"when": given["when"] or "", "hand": given["hand"] or mine.hand, "note": given["note"]}
        texts["sure"] = "yes" if given["sure"] else ""
        act = parse_act(kind.kind, texts, book.now(), mine.units)
        write_and_print(book, act, as_json=given["as_json"])

    return write


def write_and_print(book: Any, act: Act, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    """Write an act, its cautions told once the book takes it and before it holds; then tell how the vessels stand."""
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
    from cooperage.book.log import entries
    from cooperage.book.words import ID_LETTERS, entry_words
    from cooperage.book.writing.write import tags_in

    with book.reading() as connection:
        [entry] = entries(connection, ids=[written.id])
    cellar, units = book.cellar(), settings().units
    tags = [tag for tag in tags_in(written.act) if tag in cellar]
    if as_json:
        now = {cellar[tag].tag: cellar[tag].litres for tag in tags}
        about = {"id": written.id, "kind": written.act.kind, "happened_at": written.at}
        print_json({**about, "litres": now, "told": entry_words(entry), "cautions": found})
    else:
        held = "; ".join(f"{cellar[tag].tag} holds {show(Quantity.VOLUME, cellar[tag].ml, units)}" for tag in tags)
        text = f"written: {entry_words(entry, units)}; id {written.id[:ID_LETTERS]}"
        click.echo(text + (f"; {held}" if held else ""))


log_command = click.Group(
    "log", commands=[_command(kind) for kind in KINDS.values()], help="Write what was done into the book."
)


@click.command("retire")
@click.argument("tag", required=False)
@click.option("--reason", help="Why it leaves the programme.")
@click.option("--when", "--on", "when", metavar="WHEN")
@click.option("--hand")
@json_option
@click.pass_context
def retire_command(
    ctx: click.Context, tag: str | None, reason: str | None, when: str | None, hand: str | None, as_json: bool
) -> None:
    """Retire a vessel, or, without a tag, tell which barrels ask for it and why."""
    book = open_book(ctx)
    if tag is None:
        _print_candidates(book, as_json=as_json)
        return
    texts = {"vessel": tag, "reason": reason or "", "when": when or "", "hand": hand or settings().hand}
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
        click.echo("no barrel asks to be retired")
