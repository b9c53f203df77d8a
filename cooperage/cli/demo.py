"""`cooperage demo`: an invented meadery to try things in, kept as it was left until it is built anew."""

from pathlib import Path
from typing import TYPE_CHECKING

import click
from platformdirs import user_data_path

from cooperage.book import Book
from cooperage.book.errors import CellarUnusable
from cooperage.book.store.naming import cellar_file
from cooperage.cli.files import format_counts
from cooperage.cli.shared.desk import has_terminal, settings
from cooperage.errors import BadInput

if TYPE_CHECKING:
    from cooperage.exchange import Imported


class DatesStand(BadInput):
    """Fixed dates asked of a demo that has been built already."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is there with the dates it was built with; --anew builds it again")


@click.command("demo")
@click.option("--at", "place", metavar="PATH", help="Where it is (else demo.db in your data folder).")
@click.option("--no-ui", is_flag=True, help="Do not open it.")
@click.option("--anew", is_flag=True, help="Build it again; an old one in which anything was written is kept.")
@click.option("--fixed-dates", is_flag=True, help="Keep the dates of the files, instead of ending yesterday.")
def demo_command(place: str | None, *, no_ui: bool, anew: bool, fixed_dates: bool) -> None:
    """Open the demo cellar, an invented meadery with two years behind it; build it if it is not there yet."""
    instead = "the demo is a file: give --at a path; `cooperage copy --to URL` takes it there"
    path = cellar_file(place, instead) if place else user_data_path("cooperage") / "demo.db"
    for line in _made_ready(path, is_own_place=place is None, rebuilt=anew, fixed_dates=fixed_dates):
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
    """See that the demo is there, and tell what was done for it."""
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
    return [f"the demo cellar is at {path}, as it was left; `cooperage demo --anew` builds it again"]


def _counts_as_new(path: Path, *, is_own_place: bool) -> bool:
    try:
        return Book.counts_as_new(str(path))
    except CellarUnusable as error:
        if not is_own_place:
            raise
        raise CellarUnusable(f"{error}; `cooperage demo --anew` puts it aside and builds the demo again") from error


def _built(path: Path, done: "Imported") -> str:
    return f"the demo cellar is at {path} ({format_counts(done)})"
