"""What the columns of all tables are made of: names of constraints, times, identities, and JSON as it is kept.

Volumes are integer millilitres; times are UTC.
"""

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, DateTime, Dialect, MetaData, String, TypeDecorator

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcTime(TypeDecorator[datetime]):
    """An aware UTC time: refuses naive values going in, gives aware ones coming out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC for the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise TypeError("the book keeps aware times only")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - SQLAlchemy hands it over
    ) -> datetime | None:
        """Give back an aware UTC time."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


METADATA = MetaData(naming_convention=NAMING)  # the names let SQLite's constraints be changed later
ID = String(64)


def required(name: str, kind: Any, *more: Any, **options: Any) -> Column[Any]:  # noqa: ANN401 - as SQLAlchemy has them
    """Return a column that must hold a value."""
    return Column(name, kind, *more, nullable=False, **options)


def optional(name: str, kind: Any, *more: Any, **options: Any) -> Column[Any]:  # noqa: ANN401 - as SQLAlchemy has them
    """Return a column that may hold a null, which is unknown, not zero."""
    return Column(name, kind, *more, nullable=True, **options)


def as_json(value: object) -> str:
    """Write a value the way the book keeps it: compact, keys in order, so equal states are equal text."""
    return json.dumps(value, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
