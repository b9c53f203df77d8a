"""What every command shares: which cellar, whose units, how to print, and the one desk where errors arrive."""

import json
import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING, Any, NoReturn

import click

from cooperage.errors import BadInput, CooperageError
from cooperage.plaintext import json_escaped, visible
from cooperage.settings import Settings, load_settings, not_read

if TYPE_CHECKING:
    from cooperage.book.dangers.dangers import Caution

_STRAYS_PRINTED = "cooperage.strays told"

_BOOK = "cooperage.book"
"""Where the root of a command keeps the book that is open."""


@contextmanager
def errors_explained(ctx: click.Context) -> Iterator[None]:
    """Turn an error of ours into one line on standard error and its exit status."""
    try:
        yield
    except CooperageError as error:
        _leave(ctx, error)
    except BrokenPipeError:
        sys.stderr.close()  # whoever read our output has heard enough
        ctx.exit(0)
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        _leave(ctx, BadInput(f"{where}{(error.strerror or str(error)).lower()}"))
    except (click.exceptions.Exit, click.Abort, click.ClickException):
        raise
    except Exception as error:  # noqa: BLE001 - the outermost desk: no traceback ever reaches a person
        _leave(ctx, _explained(ctx, error))


def _explained(ctx: click.Context, fault: Exception) -> CooperageError:
    """Tell a fault of the program: a damaged book explains it, else it is ours."""
    from cooperage.faults import ProgramFault

    book = ctx.find_root().meta.get(_BOOK)
    return (book.explained() if book is not None else None) or ProgramFault(fault)


def _leave(ctx: click.Context, error: CooperageError) -> NoReturn:
    """Say an error in one line on standard error, and leave with its exit status."""
    click.echo(visible(f"cooperage: {error.words(_units(ctx))}"), err=True)
    ctx.exit(error.exit_status)


def _units(_ctx: click.Context) -> Any:  # noqa: ANN401 - Units, or its default where the settings are themselves broken
    from cooperage.units import DEFAULT

    try:
        return settings().units
    except CooperageError:
        return DEFAULT


def settings() -> Settings:
    """Load the person's settings, and tell once a command of files beside them that are not read."""
    _print_strays()
    return load_settings(os.environ)


def _print_strays() -> None:
    ctx = click.get_current_context(silent=True)
    if ctx is None or ctx.find_root().meta.setdefault(_STRAYS_PRINTED, ctx.params.get("as_json", False)):
        return
    ctx.find_root().meta[_STRAYS_PRINTED] = True
    for line in not_read(os.environ):
        click.echo(f"cooperage: {line}", err=True)


def cellar_place(ctx: click.Context) -> str:
    """Say which cellar is meant: the option, COOPERAGE_CELLAR, the settings, else one in the user's data folder."""
    asked = ctx.find_root().obj or os.environ.get("COOPERAGE_CELLAR") or settings().cellar
    if asked:
        return str(asked)
    from platformdirs import user_data_path

    return str(user_data_path("cooperage") / "cellar.db")


def open_book(ctx: click.Context) -> Any:  # noqa: ANN401 - a Book, whose import is not paid for by --version
    """Open the book of the cellar that is meant."""
    from cooperage.book import Book

    return _kept_open(ctx, Book.open(cellar_place(ctx)))


def _kept_open(ctx: click.Context, book: Any) -> Any:  # noqa: ANN401 - see open_book
    ctx.find_root().meta[_BOOK] = book
    ctx.call_on_close(book.close)
    return book


def open_or_create_book(ctx: click.Context) -> Any:  # noqa: ANN401 - see open_book
    """Open the book, or make a new one where there is none."""
    from cooperage.book import Book

    place = cellar_place(ctx)
    return _kept_open(ctx, Book.create(place) if Book.counts_as_new(place) else Book.open(place))


class NeedsATerminal(BadInput):
    """The screen was asked for where there is no terminal to draw it on."""

    def __init__(self) -> None:
        super().__init__("the screen needs a terminal; `cooperage --help` lists the commands that do not")


def has_terminal() -> bool:
    """Say whether there is something to draw a screen on: a terminal, or a browser (see `serve`)."""
    return "TEXTUAL_DRIVER" in os.environ or (sys.stdin.isatty() and sys.stdout.isatty())


def open_screen(ctx: click.Context) -> None:
    """Open the terminal UI on the cellar that is meant."""
    with errors_explained(ctx):
        if not has_terminal():
            raise NeedsATerminal
        book = open_book(ctx)
        from cooperage.tui.app import run_app

        run_app(book, settings())


def print_cautions(found: "Iterable[Caution]", *, err: bool = True) -> None:
    """Print cautions, on standard error where an act is written; that nobody reads it must not undo the act."""
    with suppress(OSError):
        for each in found:
            click.echo(f"caution: {each.text}", err=err)


def print_cautions_once(found: "Iterable[Sequence[Caution]]") -> None:
    """Print, under a list, the cautions of its lines, each danger once."""
    from cooperage.book.dangers.dangers import by_danger

    print_cautions(by_danger(each for cautions in found for each in cautions), err=False)


since_option = click.option("--since", metavar="DATE", help="From the beginning of this day on.")
until_option = click.option("--until", metavar="DATE", help="Up to and including this day.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for scripts.")


def plain(value: Any) -> Any:  # noqa: ANN401 - JSON is any of these
    """Return a value as JSON knows it: dataclasses as objects, times in ISO 8601 UTC, NaN as null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set):
        return [plain(item) for item in value]
    if isinstance(value, float) and value != value:
        return None
    return value


def print_json(value: Any) -> None:  # noqa: ANN401 - whatever `plain` takes
    """Print a value as JSON."""
    click.echo(json_escaped(json.dumps(plain(value), ensure_ascii=False, indent=1, allow_nan=False)))


def print_table(
    header: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = (), empty: str = ""
) -> None:
    """Print rows in aligned columns; `right` are the columns that hold numbers.

    Where there are no rows, `empty` is said instead of a bare heading.
    """
    if empty and not rows:
        click.echo(empty)
        return
    from rich.cells import cell_len

    rows = [[visible(text) for text in row] for row in rows]  # before their widths are taken
    widths = [max(cell_len(line[place]) for line in [header, *rows]) for place in range(len(header))]
    for line in [header, *rows]:
        cells = [
            " " * (width - cell_len(text)) + text if place in right else text + " " * (width - cell_len(text))
            for place, (text, width) in enumerate(zip(line, widths, strict=True))
        ]
        click.echo("  ".join(cells).rstrip())
