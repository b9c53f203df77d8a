"""What the shell completes: tags, codes and rooms of the cellar, and the words that the book knows.

It is asked for at every Tab, so it is one SELECT that changes nothing, not even an older cellar's tables; and it is
silent where there is no cellar.
"""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import click

from cooperage.errors import CooperageError

_Function = TypeVar("_Function", bound=Callable[..., Any])
Completer = Callable[[click.Context, click.Parameter, str], list[str]]

_TAGS = "SELECT tag FROM vessel"
_LOTS = "SELECT code FROM lot"
_BOTTLINGS = "SELECT code FROM bottling"


def _from_cellar(statement: str) -> Completer:
    def complete(ctx: click.Context, _parameter: click.Parameter, incomplete: str) -> list[str]:
        return _beginning(incomplete, _read(ctx, statement))

    return complete


def _read(ctx: click.Context, statement: str) -> list[str]:
    from sqlalchemy.exc import SQLAlchemyError

    from cooperage.book.store.engine import reading_as_it_is
    from cooperage.book.store.naming import cellar_url
    from cooperage.cli.shared.desk import cellar_place

    try:
        with reading_as_it_is(cellar_url(cellar_place(ctx))) as connection:
            return [str(name) for (name,) in connection.exec_driver_sql(statement) if name]
    except (CooperageError, OSError, SQLAlchemyError):
        return []


def _beginning(incomplete: str, names: Iterable[str]) -> list[str]:
    return sorted({name for name in names if name.casefold().startswith(incomplete.casefold())})


def one_of(names: Callable[[], Iterable[str]]) -> Completer:
    """Complete words that the program itself knows."""

    def complete(_ctx: click.Context, _parameter: click.Parameter, incomplete: str) -> list[str]:
        return _beginning(incomplete, names())

    return complete


def _of_a_list(complete: Completer) -> Completer:
    """Complete the last of several names: what follows the last comma, or the dots of a series."""

    def complete_last(ctx: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
        end = max(incomplete.rfind(sign) + len(sign) if sign in incomplete else 0 for sign in (",", ".."))
        return [incomplete[:end] + name for name in complete(ctx, parameter, incomplete[end:])]

    return complete_last


TAGS, LOTS = _from_cellar(_TAGS), _from_cellar(_LOTS)
TAG_LISTS = _of_a_list(TAGS)
ORDERS = _from_cellar("SELECT number FROM orders WHERE state = 'open'")
FLIGHTS = _from_cellar("SELECT code FROM flight")
TRIALS = _from_cellar("SELECT code FROM trial")
BARREL_TRIALS = _from_cellar("SELECT code FROM barrel_trial")
RUNS = _from_cellar("SELECT code FROM run")
PERIODS = _from_cellar("SELECT code FROM period")
HONEYS = _from_cellar("SELECT code FROM honey")
ROOMS = _from_cellar("SELECT DISTINCT room FROM vessel")
BOTTLINGS = _from_cellar(_BOTTLINGS)
CODES = _from_cellar(f"{_TAGS} UNION {_LOTS} UNION {_BOTTLINGS}")


def tag_argument(name: str = "tag", **given: Any) -> Callable[[_Function], _Function]:  # noqa: ANN401 - what click takes
    """Declare an argument that is a vessel's tag."""
    about: dict[str, Any] = {"help": "Tag of a vessel, such as B-001.", "shell_complete": TAGS} | given
    return click.argument(name, **about)
