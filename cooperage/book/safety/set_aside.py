"""A damaged cellar is put out of the way as it is: its file, its write-ahead log and what else belongs to it."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from itertools import count
from pathlib import Path

from cooperage.book.errors import CellarUnusable
from cooperage.book.store.sqlite_file import BESIDE, companion_file, sole_access
from cooperage.outfile import NotWritten, sync_folder


def set_aside(place: Path, report: Callable[[str], None], why: str) -> None:
    """Give a cellar, or what was left behind of one, a name with `why` and a number; `report` is called first.

    At each moment the file stands under one name with its log beside it, or there is no cellar at `place` at all: it
    never opens without its log. Raises CellarUnusable while another program has it open, NotWritten.
    """
    belongs = [suffix for suffix in BESIDE if companion_file(place, suffix).exists()]
    if not place.exists() and not belongs:
        return
    aside = free_name(place, why)
    with _errors_explained(place), sole_access(place) as is_alone:
        if not is_alone:
            raise CellarUnusable(f"{place} is {why}, and open in another program; close it there and do it again")
        report(f"what was there ({why}) is set aside, as it is, as {aside}")
        _move(place, aside, belongs)


def _move(place: Path, aside: Path, belongs: list[str]) -> None:
    for suffix in belongs:
        _second_name(companion_file(place, suffix), companion_file(aside, suffix))
    sync_folder(place.parent)
    if place.exists():
        place.rename(aside)
        sync_folder(place.parent)
    for suffix in belongs:
        companion_file(place, suffix).unlink()
    sync_folder(place.parent)


def _second_name(path: Path, other: Path) -> None:
    try:
        os.link(path, other)
    except OSError:  # a medium without hard links
        shutil.copyfile(path, other)
        with other.open("rb+") as file:
            os.fsync(file.fileno())


def free_name(place: Path, why: str) -> Path:
    """Return a name beside `place`, with the day and a number, that nothing bears yet."""
    names = (place.with_name(f"{place.name}.{why}-{date.today()}-{number}") for number in count(1))
    return next(name for name in names if not any(companion_file(name, suffix).exists() for suffix in ("", *BESIDE)))


@contextmanager
def _errors_explained(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise NotWritten(place, error) from error
