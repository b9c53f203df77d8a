"""`cooperage demo`: an invented meadery to try things in, kept as it was left until it is rebuilt."""

from pathlib import Path
from typing import TYPE_CHECKING

import click
from platformdirs import user_data_path

from cooperage.book import Book
from cooperage.book.errors import CellarUnusable
from cooperage.book.store.naming import cellar_file
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import has_terminal, json_option, print_json, settings
from cooperage.errors import BadInput

if TYPE_CHECKING:
    from cooperage.exchange import Imported


class DatesStand(BadInput):
    """Fixed dates asked of a demo that has been built already."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is there with the dates it was built with; --rebuild builds it again")


@command(
    "demo",
    "cooperage demo --no-ui --path try.db",
    "cooperage demo --no-ui --path try.db --rebuild --fixed-dates --json",
)
@option("--path", "place", metavar="PATH", formerly=("--at",), help="The file (default: demo.db in your data folder).")
@option("--no-ui", is_flag=True, help="Build it without opening it.")
@option(
    "--rebuild",
    "rebuild",
    is_flag=True,
    formerly=("--anew",),
    help="Build it again; the old one is kept if anything was written in it.",
)
@option("--fixed-dates", is_flag=True, help="Keep the dates of the files, instead of ending yesterday.")
@json_option
def demo_command(place: str | None, *, no_ui: bool, rebuild: bool, fixed_dates: bool, as_json: bool) -> None:
    """Open the demo cellar, an invented meadery with two years of history; build it if it is not there yet."""
    instead = "the demo is a file: give --path a path; `cooperage copy --to URL` takes it there"
    path = cellar_file(place, instead) if place else user_data_path("cooperage") / "demo.db"
    lines = _made_ready(path, is_own_place=place is None, rebuilt=rebuild, fixed_dates=fixed_dates)
    if as_json:
        print_json({"path": str(path), "text": lines})
        return
    for line in lines:
        click.echo(line)
    if no_ui:
        return
    if not has_terminal():
        click.echo(f"open it in a terminal: cooperage --cellar {path}")
        return
    from cooperage.tui.app import run_app

    book = Book.open(str(path))
    run_app(book, settings())
    book.close()


def _made_ready(path: Path, *, is_own_place: bool, rebuilt: bool, fixed_dates: bool) -> list[str]:
    """See that the demo is there; return what was done for it."""
    from cooperage.exchange.demo import NotTheDemo, build_demo, is_demo, rebuild_demo

    if not path.exists() or (not (rebuilt and is_own_place) and _counts_as_new(path, is_own_place=is_own_place)):
        return [_built(path, build_demo(path, fixed_dates=fixed_dates))]
    if not is_own_place and not is_demo(path):
        raise NotTheDemo(path)
    if rebuilt:
        done, kept = rebuild_demo(path, fixed_dates=fixed_dates)
        old = f"kept as {kept}" if kept else "gone; nothing had been written in it"
        return [_built(path, done), f"the old one is {old}"]
    if fixed_dates:
        raise DatesStand(path)
    return [f"the demo cellar is at {path}, as it was left; `cooperage demo --rebuild` builds it again"]


def _counts_as_new(path: Path, *, is_own_place: bool) -> bool:
    try:
        return Book.counts_as_new(str(path))
    except CellarUnusable as error:
        if not is_own_place:
            raise
        raise CellarUnusable(f"{error}; `cooperage demo --rebuild` puts it aside and builds the demo again") from error


def _built(path: Path, done: "Imported") -> str:
    return f"the demo cellar is at {path} ({done.words})"
