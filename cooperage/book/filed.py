"""Filed periods as the book keeps them: the digest of one, which stand, and the laws that hold for their rows."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, case, func, select

from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.errors import ID_LETTERS
from cooperage.book.store.tables import ENTRY, FILED_ENTRY, FILED_FIGURE, MOVE, PERIOD, as_json
from cooperage.units import show_when

FIGURE_COLUMNS = ("place", "part", "line", "strength_class", "sign", "is_carried", "ml", "printed")
_OPENING, _CLOSING, _BULK = "opening", "closing", "bulk"


def digest_of(period: Mapping[str, Any], figures: Iterable[Sequence[Any]], entries: Iterable[str]) -> str:
    """Return the digest of a period as it is filed: of its row, its figures and the ids it counts."""
    own = {name: _plain(value) for name, value in period.items() if name != "digest"}
    seen = sha256(as_json(own).encode())
    for figure in figures:
        seen.update(as_json(list(figure)).encode())
    for entry_id in sorted(entries):
        seen.update(entry_id.encode())
    return seen.hexdigest()


def _plain(value: Any) -> Any:  # noqa: ANN401 - a value of any column
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value


def filed_rows(connection: Connection) -> list[dict[str, Any]]:
    """List the rows of all periods in the order they were filed."""
    query = select(PERIOD).order_by(PERIOD.c.written_at, PERIOD.c.id)
    return [dict(row) for row in connection.execute(query).mappings()]


def figures_by_period(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    """Return the figures of every period, in the order they are printed."""
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in connection.execute(select(FILED_FIGURE).order_by(FILED_FIGURE.c.place)).mappings():
        found[row["period_id"]].append(dict(row))
    return found


def before(period: Mapping[str, Any], filed: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Return the period from which one opened: the last that was filed before it with the end where it begins."""
    earlier = [
        each
        for each in filed
        if each["ends_at"] == period["starts_at"]
        and (each["written_at"], each["id"]) < (period["written_at"], period["id"])
    ]
    return earlier[-1] if earlier else None


def _put_before(period: Mapping[str, Any], filed: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Return the earlier period that was filed after one from which nothing else opens: it leads to it."""
    return next((each for each in filed if each["ends_at"] == period["starts_at"]), None)


def came_after_filing(connection: Connection) -> tuple[str, int] | None:
    """Return the last filed period and how many entries no period counts that fell into it or before; None without.

    It counts, and reads no entry: what a standing period counts happened before its end. One that was filed before the
    first counts again what that counts.
    """
    filed = filed_rows(connection)
    corrected = {row["corrects_id"] for row in filed}
    standing = [row for row in filed if row["id"] not in corrected]
    if not standing:
        return None
    last = max(standing, key=lambda row: row["ends_at"])
    happened = select(func.count()).select_from(ENTRY).where(ENTRY.c.happened_at < last["ends_at"])
    counted = select(func.count(FILED_ENTRY.c.entry_id.distinct()))
    of_these = counted.where(FILED_ENTRY.c.period_id.in_([row["id"] for row in standing]))
    later = connection.execute(happened).scalar_one() - connection.execute(of_these).scalar_one()
    return (last["code"], int(later)) if later > 0 else None


def a_filed_period_balances(connection: Connection) -> tuple[int, list[str]]:
    """The figures of each part and class of a filed period add up, in millilitres and as printed."""
    figures, broken, counted = figures_by_period(connection), [], 0
    for period in filed_rows(connection):
        off: dict[tuple[str, str], tuple[int, Decimal]] = {}
        for row in figures[period["id"]]:
            counted += 1
            key = row["part"], row["strength_class"]
            ml, printed = off.get(key, (0, Decimal(0)))
            off[key] = ml + row["sign"] * row["ml"], printed + row["sign"] * Decimal(row["printed"])
        for (part, name), (ml, printed) in off.items():
            where = f"period {period['code']}: {part}, class {name}"
            broken += [f"{where}: the lines are {ml} mL more than what is there at the end"] if ml else []
            broken += [f"{where}: the lines are {printed} more, as printed, than the end"] if printed else []
    return counted, broken


def filed_periods_adjoin(connection: Connection) -> tuple[int, list[str]]:
    """Every filed period but the earliest begins where another ends, and opens with what that closed with."""
    filed, figures, broken = filed_rows(connection), figures_by_period(connection), []
    first = min((each["starts_at"] for each in filed), default=None)
    for period in filed:
        opened = before(period, filed) or _put_before(period, filed)
        if opened is None:
            if period["starts_at"] != first:
                broken.append(f"period {period['code']} begins {show_when(period['starts_at'])}, where none ends")
            continue
        closed = _stock(figures[opened["id"]], _CLOSING)
        for key, ml in _stock(figures[period["id"]], _OPENING).items():
            if ml != (was := closed.pop(key, 0)):
                broken.append(_opens_with(period, opened, key, ml, was))
        broken += [_opens_with(period, opened, key, 0, ml) for key, ml in closed.items() if ml]
    return len(filed), broken


def _stock(figures: Iterable[Mapping[str, Any]], line: str) -> dict[tuple[str, str], int]:
    return {(row["part"], row["strength_class"]): row["ml"] for row in figures if row["line"] == line}


def _opens_with(
    period: Mapping[str, Any], opened: Mapping[str, Any], key: tuple[str, str], ml: int, closed: int
) -> str:
    part, name = key
    closing = f"{opened['code']} closed with {closed} mL"
    return f"period {period['code']}: {part}, class {name} opens with {ml} mL, and {closing}"


def a_filed_period_is_as_it_was_filed(connection: Connection) -> tuple[int, list[str]]:
    """No figure, and no entry that was counted, has changed since a period was filed."""
    filed, figures = filed_rows(connection), figures_by_period(connection)
    ids: dict[str, list[str]] = defaultdict(list)
    for period_id, entry_id in connection.execute(select(FILED_ENTRY.c.period_id, FILED_ENTRY.c.entry_id)):
        ids[period_id].append(entry_id)
    broken = [
        f"period {period['code']} is not as it was filed: put the last backup in its place"
        for period in filed
        if digest_of(period, (_values(row) for row in figures[period["id"]]), ids[period["id"]]) != period["digest"]
    ]
    return len(filed), broken


def _values(row: Mapping[str, Any]) -> list[Any]:
    return [row[name] for name in FIGURE_COLUMNS]


def a_filed_period_follows_from_what_it_counts(connection: Connection) -> tuple[int, list[str]]:
    """What a filed period closes with in bulk is what the entries add up to that it and those before it count."""
    filed, figures, broken = filed_rows(connection), figures_by_period(connection), []
    net, left = _net_by_period(connection), dict[str, int]()
    for period in filed:
        opened = before(period, filed)
        left[period["id"]] = net.get(period["id"], 0) + (0 if opened is None else left[opened["id"]])
        closing = sum(ml for (part, _), ml in _stock(figures[period["id"]], _CLOSING).items() if part == _BULK)
        if closing != left[period["id"]]:
            leave = f"its entries leave {left[period['id']]} mL"
            broken.append(f"period {period['code']} closes with {closing} mL in bulk, and {leave}")
    broken += _counted_too_soon(connection)
    return len(filed), broken


def _net_by_period(connection: Connection) -> dict[str, int]:
    """Return what the entries that each period counts brought into the vessels, less what they took out [ml]."""
    came = case((MOVE.c.source_id.in_(OUTSIDE_IDS), MOVE.c.ml), else_=0)
    went = case((MOVE.c.destination_id.in_(OUTSIDE_IDS), MOVE.c.ml), else_=0)
    query = select(FILED_ENTRY.c.period_id, func.sum(came - went)).join(MOVE, MOVE.c.entry_id == FILED_ENTRY.c.entry_id)
    return {period_id: int(ml) for period_id, ml in connection.execute(query.group_by(FILED_ENTRY.c.period_id))}


def _counted_too_soon(connection: Connection) -> list[str]:
    query = (
        select(PERIOD.c.code, ENTRY.c.id)
        .join(FILED_ENTRY, FILED_ENTRY.c.period_id == PERIOD.c.id)
        .join(ENTRY, ENTRY.c.id == FILED_ENTRY.c.entry_id)
        .where(ENTRY.c.happened_at >= PERIOD.c.ends_at)
    )
    rows = connection.execute(query)
    return [f"period {code} counts entry {entry_id[:ID_LETTERS]}, which happened after it" for code, entry_id in rows]


FILED_LAWS = (
    a_filed_period_balances,
    filed_periods_adjoin,
    a_filed_period_is_as_it_was_filed,
    a_filed_period_follows_from_what_it_counts,
)
