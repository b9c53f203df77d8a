"""What commands share that take pasted text: where it comes from, how it is written, and printing what was not read."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.shared.command import option
from cooperage.infile import at_home
from cooperage.units import read_when

if TYPE_CHECKING:
    from cooperage.programme.pasted.table import Unread


def pasted_text(path: str) -> str:
    """Return the text of a file, or of standard input for "-"; raises NotText, FileUnreadable, OSError."""
    from cooperage.programme.pasted.table import LONGEST, decoded  # every kind of entry comes with it

    name = path if path == "-" else str(at_home(Path(path)))
    with click.open_file(name, "rb") as file:
        raw: bytes = file.read(LONGEST + 1)
    return decoded(raw, "what was piped in" if path == "-" else path)


def piped_file(path: Path, name: str) -> Path:
    """Return a path as it is; for "-" that of a file of this name with what is piped in, gone with the command."""
    if str(path) != "-":
        return path
    folder = TemporaryDirectory()
    click.get_current_context().call_on_close(folder.cleanup)
    file = Path(folder.name) / name
    file.write_text(pasted_text("-"), encoding="utf-8")
    return file


dry_run_option = option("--dry-run", is_flag=True, help="Show what would be written; write nothing.")
leave_unread_option = option(
    "--leave-unread", is_flag=True, help="Write the other lines although some are not understood."
)


def parse_moment(text: str | None, now: datetime) -> datetime | None:
    """Return the moment typed, or None for just now."""
    return None if text is None else read_when(text, now)


def print_unread(unread: "Sequence[Unread]") -> None:
    """Print the lines that were not understood, each with its reason."""
    if unread:
        click.echo("not understood:")
    for each in unread:
        click.echo(f"  line {each.line}: {each.text}\n    {each.reason}")


def print_outcome(words: str, *, dry_run: bool) -> None:
    """Print what was written, or what would have been."""
    click.echo(f"this was a dry run, nothing was written: {words}" if dry_run else f"written: {words}")


def unread_rows(unread: "Sequence[Unread]") -> list[dict[str, Any]]:
    """Return the lines that were not understood as scripts read them."""
    return [{"line": each.line, "text": each.text, "reason": each.reason} for each in unread]
