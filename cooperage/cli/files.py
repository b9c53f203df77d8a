"""Commands about whole cellars: the demo, import, export, copy, backup, restore, check."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click
from platformdirs import user_data_path

from cooperage.book import Book
from cooperage.cli.desk import (
    cellar_place,
    has_terminal,
    json_option,
    open_book,
    open_or_create_book,
    print_json,
    settings,
)
from cooperage.cli.out import NewFile, force_option
from cooperage.errors import BadInput
from cooperage.resources import demo_folder

if TYPE_CHECKING:
    from cooperage.exchange import Imported


class ThereAlready(BadInput):
    """A file that would be overwritten."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} is there already; give another path, or --force to replace it")


@click.command("demo")
@click.option("--at", "place", metavar="PATH", help="Where to build it (else demo.db in your data folder, made anew).")
@click.option("--no-ui", is_flag=True, help="Build it and stop.")
@click.option("--fixed-dates", is_flag=True, help="Keep the dates of the files, instead of ending yesterday.")
def demo_command(place: str | None, no_ui: bool, fixed_dates: bool) -> None:
    """Build the demo cellar, an invented meadery with two years behind it, and open it."""
    from cooperage.exchange import import_folder, shift_to_yesterday

    path = Path(place).expanduser() if place else user_data_path("cooperage") / "demo.db"
    if place is None:
        _remove(path)
    if path.exists():
        raise ThereAlready(path)
    with _new_cellar(path) as book:
        shift = 0 if fixed_dates else shift_to_yesterday(demo_folder(), book.now())
        done = import_folder(book, demo_folder(), shift_days=shift)
    click.echo(f"the demo cellar is at {path} ({_counted(done)})")
    if not no_ui and not has_terminal():
        click.echo(f"open it in a terminal: cooperage --cellar {path}")
    elif not no_ui:
        from cooperage.tui.app import run_app

        run_app(book, settings())
    book.close()


@contextmanager
def _new_cellar(path: Path) -> Iterator[Book]:
    """Make a new cellar, and leave no file behind when it cannot be filled."""
    try:
        book = Book.create(str(path))
        yield book
    except BaseException:
        _remove(path)
        raise


def _remove(path: Path) -> None:
    for name in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        name.unlink(missing_ok=True)


def _counted(done: "Imported") -> str:
    return ", ".join(f"{count} {name}" for name, count in done.counts.items() if count) or "nothing new"


@click.command("import")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Check everything, write nothing.")
@json_option
@click.pass_context
def import_command(ctx: click.Context, path: Path, dry_run: bool, as_json: bool) -> None:
    """Bring in a folder of CSV files, one CSV file, or a workbook: all of it, or nothing.

    The cellar is made if there is none.
    """
    from cooperage.exchange import import_folder

    place = cellar_place(ctx)
    with ExitStack() as stack:
        if "://" in place or Path(place).expanduser().exists():
            book = open_or_create_book(ctx)
        else:
            scratch = stack.enter_context(TemporaryDirectory()) if dry_run else ""
            book = stack.enter_context(_new_cellar(Path(scratch, "dry-run.db") if dry_run else Path(place)))
        done = import_folder(book, path, dry_run=dry_run)
        book.close()
    if as_json:
        print_json(done)
        return
    click.echo(("would import " if dry_run else "imported ") + _counted(done))
    for note in done.notes:
        click.echo(note)


@click.command("export")
@click.argument("path", type=NewFile())
@force_option
@click.pass_context
def export_command(ctx: click.Context, path: Path, force: bool) -> None:
    """Write the whole book as a folder of CSV files, or as a workbook (PATH.xlsx); import reads back either.

    All of the files are written, or none.
    """
    from cooperage.exchange import export_folder, is_workbook

    for name, rows in export_folder(open_book(ctx), path, force=force).items():
        click.echo(f"{rows} rows in {f'{path}, sheet {name}' if is_workbook(path) else path / f'{name}.csv'}")


@click.command("copy")
@click.option("--to", "url", required=True, metavar="URL", help="An empty database, or a new file.")
@click.pass_context
def copy_command(ctx: click.Context, url: str) -> None:
    """Copy the cellar, row for row, into another database, and check it there."""
    from cooperage.exchange import copy_book

    copied = copy_book(open_book(ctx), url)
    click.echo(f"copied {sum(copied.values())} rows of {len(copied)} tables to {url}")


@click.command("backup")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), required=False)
@click.pass_context
def backup_command(ctx: click.Context, path: Path | None) -> None:
    """Copy the cellar file, while it may be in use, to a file (else one with today's date beside it)."""
    from cooperage.book.backup import back_up

    click.echo(back_up(open_book(ctx), path or Path(f"cellar-{date.today():%Y-%m-%d}.db")))


@click.command("restore")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--force", is_flag=True, help="Put it in the place of a cellar that is there (which is kept beside it).")
@click.pass_context
def restore_command(ctx: click.Context, path: Path, force: bool) -> None:
    """Put a backup in the place of the cellar, after checking that it is whole."""
    from cooperage.book.backup import restore

    place = Path(cellar_place(ctx))
    if place.exists() and not force:
        raise ThereAlready(place)
    for line in restore(path, place):
        click.echo(line)


@click.command("check")
@json_option
@click.pass_context
def check_command(ctx: click.Context, as_json: bool) -> None:
    """Hold the book against its laws."""
    findings = open_book(ctx).check()
    ok = not any(finding.broken for finding in findings)
    if as_json:
        print_json({"ok": ok, "laws": findings})
    else:
        for finding in findings:
            click.echo(f"{'ok ' if not finding.broken else 'BROKEN'}  {finding.law} ({finding.counted})")
            for line in finding.broken:
                click.echo(f"        {line}")
    if not ok:
        ctx.exit(1)
