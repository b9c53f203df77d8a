"""What commands share that take pasted text: where it comes from, and telling the lines that were not understood."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from cooperage.programme.pasted import Unread, decoded
from cooperage.units import read_when


def pasted_text(path: str) -> str:
    """Return the text of a file, or of standard input for "-"; raises NotText, OSError."""
    name = path if path == "-" else str(Path(path).expanduser())
    with click.open_file(name, "rb") as file:
        raw: bytes = file.read()
    return decoded(raw, "what was piped in" if path == "-" else path)


def moment_said(text: str | None, now: datetime) -> datetime | None:
    """Return the moment typed, or None for just now."""
    return None if text is None else read_when(text, now)


def tell_unread(unread: Sequence[Unread]) -> None:
    """Print the lines that were not understood, each with its reason."""
    if unread:
        click.echo("not understood:")
    for each in unread:
        click.echo(f"  line {each.line}: {each.text}\n    {each.reason}")


def unread_rows(unread: Sequence[Unread]) -> list[dict[str, Any]]:
    """Return the lines that were not understood as scripts read them."""
    return [{"line": each.line, "text": each.text, "reason": each.reason} for each in unread]
