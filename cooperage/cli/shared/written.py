"""What is printed of entries that were just written: each as the book has it, and how the vessels stand now."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from cooperage.book.errors import ID_LETTERS
from cooperage.cli.shared.desk import print_json, settings
from cooperage.units import Quantity, Units, counted, show

if TYPE_CHECKING:
    from cooperage.book import Act, Book, Cellar, Written
    from cooperage.book.dangers.dangers import Caution
    from cooperage.programme.wood.retired import Retirement


def print_written(book: "Book", written: "Written", found: "Sequence[Caution]", *, as_json: bool) -> None:
    """Print what was written as the book has it, and how the vessels stand now."""
    [(about, line)] = _lines(book, [written])
    held = _held(book, [written])
    retired = next(iter(_retired(book, [written])), None)
    if as_json:
        if retired is not None:
            about |= _retired_json(retired)
        print_json({**about, "litres": {tag: ml / 1000 for tag, ml in held.items()}, "cautions": found})
    else:
        click.echo("; ".join([line, *_held_words(held)]))
        if retired is not None:
            click.echo(_retired_words(retired))


def print_several(
    book: "Book",
    written: "Sequence[Written]",
    found: "Sequence[Caution]",
    *,
    as_json: bool,
    **more: Any,  # noqa: ANN401 - what else a script is given
) -> None:
    """Print what was written as one, a line an entry, how the vessels stand now, and how it is struck as one."""
    if len(written) == 1 and not more:
        print_written(book, written[0], found, as_json=as_json)
        return
    lines, held = _lines(book, written), _held(book, written)
    retired = _retired(book, written)
    if as_json:
        if retired:
            more["retired"] = [{"barrel": each.barrel} | _retired_json(each) for each in retired]
        now = {"litres": {tag: ml / 1000 for tag, ml in held.items()}, "cautions": found}
        print_json({**more, "entries": [about for about, _ in lines], **now})
        return
    for _, line in lines:
        click.echo(line)
    if held:
        click.echo("; ".join(_held_words(held)))
    for each in retired:
        click.echo(f"{each.barrel}: {_retired_words(each)}")
    if len(written) > 1 and written[0].act.kind != "strike":
        call = f"cooperage log strike {written[0].id[:ID_LETTERS]} --together"
        click.echo(f"{counted(len(written), 'entry', 'entries')}; `{call}` strikes all of them")


def _retired(book: "Book", written: "Sequence[Written]") -> "list[Retirement]":
    """Return what became of the barrels that were retired by what was written."""
    from cooperage.book.declared.acts import Retire

    tags = [each.act.vessel for each in written if isinstance(each.act, Retire)]
    if not tags:
        return []
    from cooperage.programme.wood.retired import retirement_of

    cellar = book.cellar()
    return [retired for tag in tags if (retired := retirement_of(book, cellar, tag)) is not None]


def _retired_json(retired: "Retirement") -> dict[str, Any]:
    """Return what of a barrel's price is written off, for scripts."""
    return {name: getattr(retired, name) for name in ("received", "book_value", "written_off")}


def _retired_words(retired: "Retirement") -> str:
    from cooperage.programme.wood.words import written_off_words

    return written_off_words(retired, settings().units)


def _lines(book: "Book", written: "Sequence[Written]") -> list[tuple[dict[str, Any], str]]:
    """Return each entry as scripts read it, and its line, as the book has them."""
    from cooperage.book.log import entries
    from cooperage.book.words import entry_words

    with book.reading() as connection:
        found = {entry.id: entry for entry in entries(connection, ids=[each.id for each in written])}
    lines = []
    for each in written:
        entry = found[each.id]
        about = {"id": each.id, "kind": each.act.kind, "happened_at": each.at, "text": entry_words(entry)}
        lines.append((about, f"written: {entry_words(entry, settings().units)}; id {each.id[:ID_LETTERS]}"))
    return lines


def _held(book: "Book", written: "Sequence[Written]") -> dict[str, int]:
    """Return what the vessels that are named hold now [ml], by tag."""
    from cooperage.book.writing.write import tags_in

    cellar = book.cellar()
    tags = dict.fromkeys(tag for each in written for tag in tags_in(each.act) if tag in cellar)
    return {cellar[tag].tag: cellar[tag].ml for tag in tags}


def _held_words(held: dict[str, int]) -> list[str]:
    units = settings().units
    return [f"{tag} holds {show(Quantity.VOLUME, ml, units)}" for tag, ml in held.items()]


def cautions_of_several(acts: "Sequence[Act]", cellar: "Cellar", units: Units) -> "tuple[Caution, ...]":
    """Return the cautions that several acts call for, each danger once."""
    from cooperage.book.dangers.dangers import by_danger, cautions
    from cooperage.book.dangers.work import work_of

    return by_danger(each for act in acts for each in cautions(work_of(act, cellar, units)))
