"""Commands about whole cellars: import, export, copy, backup, restore, check."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cooperage.book.store.naming import cellar_file, cellar_name, cellar_url
from cooperage.cli.shared.desk import (
    cellar_place,
    json_option,
    open_book,
    print_json,
)
from cooperage.cli.shared.out import NewFile, force_option
from cooperage.errors import BadInput

if TYPE_CHECKING:
    from cooperage.exchange import Imported


def format_counts(done: "Imported") -> str:
    """Tell how many rows of each file went in."""
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
    from cooperage.exchange import import_into

    done = import_into(cellar_place(ctx), path, dry_run=dry_run)
    if as_json:
        print_json(done)
        return
    click.echo(("would import " if dry_run else "imported ") + format_counts(done))
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
    click.echo(f"copied {sum(copied.values())} rows of {len(copied)} tables to {cellar_name(cellar_url(url))}")


@click.command("backup")
@click.argument("path", required=False)
@click.pass_context
def backup_command(ctx: click.Context, path: str | None) -> None:
    """Copy the cellar file, while it may be in use, to a new file (else one with today's date in this folder)."""
    from cooperage.book.safety.backup import back_up

    instead = "a backup is a file; `cooperage copy --to` brings a cellar to a server"
    to = cellar_file(path or f"cellar-{date.today():%Y-%m-%d}.db", instead)
    click.echo(back_up(open_book(ctx), to))


@click.command("restore")
@click.argument("path")
@click.option("--force", is_flag=True, help="Put it in the place of a cellar that is there (which is kept beside it).")
@click.pass_context
def restore_command(ctx: click.Context, path: str, force: bool) -> None:
    """Put a backup in the place of the cellar, after checking that it is whole."""
    from cooperage.book.safety.restore import restore

    instead = "use the server's own tools; `cooperage --cellar BACKUP copy --to URL` fills an empty one"
    backup, place = cellar_file(path, instead), cellar_file(cellar_place(ctx), instead)
    if place.exists() and not force:
        raise BadInput(f"{place} is there already; with --force the backup takes its place, and what is there is kept")
    restore(backup, place, click.echo)


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
