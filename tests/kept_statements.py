"""SQL compiled once for all engines of one kind: tests open cellars by the thousand, each with an engine."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

from sqlalchemy import Engine
from sqlalchemy.util import LRUCache


class KeptStatements:
    """What one engine finds of the statements that engines of its kind have compiled before.

    SQLAlchemy asks by a key that begins with the engine's own dialect; all dialects of one kind compile alike here,
    since they meet one version of one database.
    """

    def __init__(self, kind: str, kept: "LRUCache[Any, Any]") -> None:
        self._kind, self._kept = kind, kept

    def get(self, key: tuple[Any, ...]) -> Any:
        """Return the compiled statement, None if there is none yet."""
        return self._kept.get((self._kind, *key[1:]))

    def __setitem__(self, key: tuple[Any, ...], compiled: Any) -> None:
        self._kept[(self._kind, *key[1:])] = compiled


@contextmanager
def statements_kept() -> Iterator[None]:
    """Let every engine made from now on share what is compiled."""
    kept: LRUCache[Any, Any] = LRUCache(3000)
    make = Engine.__init__

    def sharing(self: Engine, pool: Any, dialect: Any, *more: Any, **named: Any) -> None:
        make(self, pool, dialect, *more, **named)
        self._compiled_cache = KeptStatements(f"{dialect.name} {dialect.driver}", kept)  # type: ignore[assignment]

    with patch.object(Engine, "__init__", sharing):
        yield
