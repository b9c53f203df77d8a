"""What every command shares: which cellar, whose units, how to print, and the one desk where errors arrive."""

import json
import os
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING, Any, NoReturn

import click

from cooperage.cli.shared.command import AS_JSON, option, usage_words
from cooperage.cli.shared.digits import rounded
from cooperage.errors import BadInput, CooperageError
from cooperage.plaintext import json_escaped, visible
from cooperage.settings import Settings, load_settings, not_read
from cooperage.units import NotAQuantity, Quantity, read

if TYPE_CHECKING:
    from cooperage.book.dangers.dangers import Caution

_STRAYS_PRINTED = "cooperage.strays printed"

_BOOK = "cooperage.book"
"""Where the root of a command keeps the book that is open."""

_SETTINGS = "cooperage.settings"
"""Where it keeps the settings."""

_CURRENCY = "cooperage.currency"
"""Where it keeps the currency of the open book."""


class BadCall(BadInput):
    """A command called in a way that it cannot be."""


@contextmanager
def errors_explained(ctx: click.Context) -> Iterator[None]:
    """Turn an error of ours into one line on standard error and its exit status."""
    try:
        yield
    except CooperageError as error:
        _leave(ctx, error)
    except BrokenPipeError:
        sys.stderr.close()  # whoever reads our output has closed it
        ctx.exit(0)
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        _leave(ctx, BadInput(f"{where}{(error.strerror or str(error)).lower()}"))
    except click.exceptions.NoArgsIsHelpError:
        raise
    except click.UsageError as error:
        _leave(ctx, BadCall(usage_words(error)), kind=type(error))
    except (click.exceptions.Exit, click.Abort, click.ClickException):
        raise
    except Exception as error:  # noqa: BLE001 - the outermost desk: no traceback ever reaches a person
        _leave(ctx, _explained(ctx, error))


def _explained(ctx: click.Context, fault: Exception) -> CooperageError:
    """Return what explains a fault of the program: a damaged book, else it is ours."""
    from cooperage.faults import ProgramFault

    book = ctx.find_root().meta.get(_BOOK)
    return (book.explained() if book is not None else None) or ProgramFault(fault)


def _leave(ctx: click.Context, error: CooperageError, kind: type[Exception] | None = None) -> NoReturn:
    """Print an error in one line on standard error, as JSON where JSON was asked for; leave with its exit status."""
    words = error.words(_units(ctx))
    if ctx.find_root().meta.get(AS_JSON):
        about = {"error": words, "status": error.exit_status, "kind": _kind_name(kind or type(error))}
        click.echo(json_escaped(json.dumps(about, ensure_ascii=False)), err=True)
    else:
        click.echo(visible(f"cooperage: {words}", lines=error.has_lines), err=True)
    ctx.exit(error.exit_status)


def _kind_name(kind: type[Exception]) -> str:
    """Return the name of an error as scripts read it: NoSuchVessel is no_such_vessel."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", kind.__name__).lower()


def _units(_ctx: click.Context) -> Any:  # noqa: ANN401 - Units, or its default where the settings are themselves broken
    from cooperage.units import DEFAULT

    try:
        return settings().units
    except CooperageError:
        return DEFAULT


def settings() -> Settings:
    """Return the person's settings, read once a command, which then names the files beside them that are not read."""
    ctx = click.get_current_context(silent=True)
    if ctx is None:
        return load_settings(os.environ)
    kept = ctx.find_root().meta
    if _SETTINGS not in kept:
        _print_strays(ctx)
        kept[_SETTINGS] = load_settings(os.environ)
    found: Settings = kept[_SETTINGS]
    return _in_currency(found, kept)


def _in_currency(found: Settings, kept: dict[str, Any]) -> Settings:
    """Return the settings with the currency of the book that is open, which is no person's choice."""
    if (book := kept.get(_BOOK)) is None:
        return found
    if _CURRENCY not in kept:
        kept[_CURRENCY] = book.currency()
    return found.in_currency(kept[_CURRENCY])


def _print_strays(ctx: click.Context) -> None:
    if ctx.find_root().meta.setdefault(_STRAYS_PRINTED, ctx.params.get("as_json", False)):
        return
    ctx.find_root().meta[_STRAYS_PRINTED] = True
    for line in not_read(os.environ):
        click.echo(f"cooperage: {line}", err=True)


def cellar_place(ctx: click.Context) -> str:
    """Return which cellar is meant: the option, COOPERAGE_CELLAR, the settings, else one in the user's data folder."""
    root = ctx.find_root()
    asked = root.obj or root.params.get("cellar") or os.environ.get("COOPERAGE_CELLAR") or settings().cellar
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


def open_book_if_there(ctx: click.Context) -> Any:  # noqa: ANN401 - see open_book
    """Open the book of the cellar that is meant; None where there is none yet, and none is made."""
    from cooperage.book import Book

    place = cellar_place(ctx)
    return None if Book.counts_as_new(place) else _kept_open(ctx, Book.open(place))


def open_or_create_book(ctx: click.Context) -> Any:  # noqa: ANN401 - see open_book
    """Open the book, or make a new one where there is none, and name where that is: its place may be mistyped."""
    from cooperage.book import Book
    from cooperage.book.store.naming import cellar_name, cellar_url

    place = cellar_place(ctx)
    if not Book.counts_as_new(place):
        return _kept_open(ctx, Book.open(place))
    book = _kept_open(ctx, Book.create(place))
    if not ctx.find_root().meta.get(AS_JSON):
        click.echo(visible(f"cooperage: a new cellar was begun at {cellar_name(cellar_url(place))}"), err=True)
    return book


class NeedsATerminal(BadInput):
    """The screen was asked for where there is no terminal to draw it on."""

    def __init__(self) -> None:
        super().__init__("the screen needs a terminal; `cooperage --help` lists the commands that do not")


def has_terminal() -> bool:
    """Return whether there is something to draw a screen on: a terminal, or a browser (see `serve`)."""
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
    """Print cautions, on standard error where an act is written; a closed stream must not undo the act."""
    with suppress(OSError):
        for each in found:
            click.echo(f"caution: {each.text}", err=err)


def print_cautions_once(found: "Iterable[Sequence[Caution]]") -> None:
    """Print, under a list, the cautions of its lines, each danger once."""
    from cooperage.book.dangers.dangers import by_danger

    print_cautions(by_danger(each for cautions in found for each in cautions), err=False)


since_option = option(
    "--since", metavar="DATE", help="From the beginning of this day on; 'last month' or 'this year' work too."
)
until_option = option("--until", metavar="DATE", help="Up to and including this day.")
as_of_option = option("--as-of", "as_of", metavar="DATE", formerly=("--on",), help="As it was at the end of this day.")
json_option = option("--json", "as_json", is_flag=True, help="Print JSON for scripts.")


_POWER_OF_TEN = re.compile(r"\d+(\.\d+)?[eE]-?\d+")  # as scripts write small numbers: 1e-9


def number(given: str | float) -> float:
    """Return a number as it was typed, with either decimal mark: the `type` of an option that takes a fraction.

    Raises click.BadParameter, which names the option.
    """
    if not isinstance(given, str) or _POWER_OF_TEN.fullmatch(given.strip()):
        return float(given)
    try:
        return float(read(Quantity.NUMBER, given, settings().units))
    except NotAQuantity as error:
        raise click.BadParameter(str(error)) from error


class NumberRange(click.FloatRange):
    """A number within bounds, with either decimal mark."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401 - click's
        """Read it; raises click.BadParameter."""
        return float(super().convert(number(value), param, ctx))


hand_option = option("--hand", metavar="NAME", help="Who did it (default: the name in your settings).")
when_option = option(
    "--when", "when", metavar="WHEN", formerly=("--at", "--on"), help="When it was done (default: now)."
)
sure_option = option("--sure", is_flag=True, help="Accept unusual values without asking.")
note_option = option("--note", metavar="TEXT", default="", help="A short note kept with the entry.")


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


def print_json(value: Any, *, to_the_unit: bool = True) -> None:  # noqa: ANN401 - whatever `plain` takes
    """Print a value as JSON, its figures with the digits of their units; without `to_the_unit` with twelve digits."""
    shown = rounded(plain(value), to_the_unit=to_the_unit)
    click.echo(json_escaped(json.dumps(shown, ensure_ascii=False, indent=1, allow_nan=False)))


def print_table(
    header: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = (), empty: str = ""
) -> None:
    """Print rows in aligned columns; `right` are the columns that hold numbers.

    Where there are no rows, `empty` is printed instead of a bare heading.
    """
    if empty and not rows:
        click.echo(empty)
        return
    rows = [[visible(text) for text in row] for row in rows]  # before their widths are taken
    widths = [max(_cells(line[place]) for line in [header, *rows]) for place in range(len(header))]
    for line in [header, *rows]:
        cells = [
            " " * (width - _cells(text)) + text if place in right else text + " " * (width - _cells(text))
            for place, (text, width) in enumerate(zip(line, widths, strict=True))
        ]
        click.echo("  ".join(cells).rstrip())


def _cells(text: str) -> int:
    """Return how many columns of a terminal a text takes; only what is not plain ASCII needs Rich's tables for it."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)
