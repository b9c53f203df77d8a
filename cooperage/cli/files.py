"""Commands about whole cellars: import, export, copy, backup, restore, check."""

from datetime import date
from pathlib import Path

import click

from cooperage.book.store.naming import cellar_file, cellar_name, cellar_url
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import (
    cellar_place,
    json_option,
    open_book,
    print_json,
)
from cooperage.cli.shared.out import NewFile, force_option
from cooperage.cli.shared.paste import dry_run_option, piped_file
from cooperage.errors import BadInput
from cooperage.outfile import check_folder


@command(
    "import",
    "cooperage --cellar mine.db import demo_cellar --dry-run",
    "cooperage --cellar mine.db import demo_cellar",
    "printf 'code,name\\nOAT-26,Oat 2026\\n' | cooperage import - --file lots",
)
@click.argument("path", type=click.Path(path_type=Path), help="Folder, CSV file or .xlsx workbook; - for CSV piped in.")
@option("--file", "name", metavar="NAME", help="Which file is piped in: vessels, lots, entries, ...")
@dry_run_option
@json_option
@click.pass_context
def import_command(ctx: click.Context, path: Path, name: str | None, dry_run: bool, as_json: bool) -> None:
    """Import a folder of CSV files, one CSV file, or a workbook: all of it, or nothing.

    The cellar is created if there is none.
    """
    from cooperage.exchange import import_into

    done = import_into(cellar_place(ctx), _importable(path, name), dry_run=dry_run)
    if as_json:
        print_json(done)
        return
    click.echo(("would import " if dry_run else "imported ") + done.words)
    for note in done.notes:
        click.echo(note)


def _importable(path: Path, name: str | None) -> Path:
    """Return the path to import; a table that is piped in gets the name that it would have in a folder."""
    if str(path) == "-" and not name:
        raise BadInput("name the file that is piped in with --file: vessels, lots, entries, ...")
    return piped_file(path, f"{Path(name or '').stem}.csv")


@command("export", "cooperage export out", "cooperage export cellar.xlsx --json")
@click.argument("path", type=NewFile(), help="New folder, or PATH.xlsx for a workbook.")
@force_option
@json_option
@click.pass_context
def export_command(ctx: click.Context, path: Path, force: bool, as_json: bool) -> None:
    """Write the whole book as a folder of CSV files, or as a workbook (PATH.xlsx); import reads either.

    All of the files are written, or none.
    """
    from cooperage.exchange import export_folder, is_workbook

    written = export_folder(open_book(ctx), path, force=force)
    if as_json:
        print_json({"path": str(path), "rows": written})
        return
    for name, rows in written.items():
        click.echo(f"{rows} rows in {f'{path}, sheet {name}' if is_workbook(path) else path / f'{name}.csv'}")


@command("copy", "cooperage copy --to copy.db", "cooperage copy --to other.db --json")
@option("--to", "url", required=True, metavar="PATH-or-URL", help="An empty database, or a new file.")
@json_option
@click.pass_context
def copy_command(ctx: click.Context, url: str, as_json: bool) -> None:
    """Copy the cellar, row for row, into another database, and check it there."""
    from cooperage.exchange import copy_book

    copied = copy_book(open_book(ctx), url)
    if as_json:
        print_json({"to": cellar_name(cellar_url(url)), "rows": copied})
        return
    click.echo(f"copied {sum(copied.values())} rows of {len(copied)} tables to {cellar_name(cellar_url(url))}")


@command("backup", "cooperage backup", "cooperage backup safe.db --json")
@click.argument("path", required=False, help="New file (default: cellar-DATE.db in this folder).")
@json_option
@click.pass_context
def backup_command(ctx: click.Context, path: str | None, as_json: bool) -> None:
    """Write a backup of the cellar file, which may be in use meanwhile, to a new file, and check it."""
    from cooperage.book.safety.backup import back_up

    instead = "a backup is a file; `cooperage copy --to` brings a cellar to a server"
    to = cellar_file(path or f"cellar-{date.today():%Y-%m-%d}.db", instead)
    check_folder(to)
    back_up(open_book(ctx), to)
    if as_json:
        print_json({"path": str(to), "text": f"backup written to {to}"})
        return
    click.echo(to)


@command(
    "restore",
    "cooperage backup safe.db && cooperage restore safe.db --force",
    "cooperage --cellar again.db restore safe.db --json",
)
@click.argument("path", help="File of the backup.")
@option("--force", is_flag=True, help="Replace a cellar that is there; it is kept beside the new one.")
@json_option
@click.pass_context
def restore_command(ctx: click.Context, path: str, force: bool, as_json: bool) -> None:
    """Restore a backup over the cellar, after checking it."""
    from cooperage.book.safety.restore import restore

    instead = "use the server's own tools; `cooperage --cellar BACKUP copy --to URL` fills an empty one"
    backup, place = cellar_file(path, instead), cellar_file(cellar_place(ctx), instead)
    if not backup.exists():
        raise BadInput(f"there is no file {backup}; name a backup that `cooperage backup` wrote")
    if place.exists() and not force:
        raise BadInput(f"{place} is there already; --force replaces it by the backup and keeps the old one beside it")
    lines: list[str] = []
    restore(backup, place, lines.append if as_json else click.echo)
    if as_json:
        print_json({"cellar": str(place), "backup": str(backup), "text": lines})


@command("check", "cooperage check", "cooperage check --json")
@json_option
@click.pass_context
def check_command(ctx: click.Context, as_json: bool) -> None:
    """Check the book: volumes balance, no vessel over- or underfilled. Exit status 1 where something is wrong."""
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
