"""What the hands wrote: the rows of entries.csv, each with an id and the moment it was written."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

COLUMNS = (
    "id", "written", "when", "kind", "hand", "lot", "vessel", "from", "to", "volume", "lees", "empties", "cause",
    "headspace", "property", "value", "substance", "amount", "treatment", "level", "bung", "smell", "room", "row",
    "bay", "tier", "temperature", "humidity", "draws", "code", "bottles", "bottle", "loss", "store", "out-of", "went",
    "document", "were", "in", "whose", "reason", "entry", "sure", "verdict", "weeks", "tasting", "note",
)  # fmt: skip
PROMPTLY = timedelta(minutes=2)


@dataclass
class Diary:
    """Rows in the order they are made; a row that is written late says when."""

    rng: Random
    rows: list[dict[str, str]] = field(default_factory=list)

    def write(self, when: datetime, kind: str, hand: str, late: timedelta = PROMPTLY, **cells: str) -> str:
        """Write an entry and return its id."""
        written = when + late
        millis = int(written.timestamp() * 1000)
        entry_id = f"{millis:012x}7{len(self.rows) % 4096:03x}{(0b10 << 62) | self.rng.getrandbits(62):016x}"
        common = {"id": entry_id, "written": moment(written), "when": moment(when), "kind": kind, "hand": hand}
        self.rows.append(common | {name.replace("_", "-").strip("-"): text for name, text in cells.items()})
        return entry_id


def in_written_order(rows: Iterable[dict[str, str]]) -> list[dict[str, str]]:
    """Return rows as they came into the book."""
    return sorted(rows, key=lambda row: (row["written"], row["id"]))


def moment(at: datetime) -> str:
    """Return a moment as the files have it, in UTC."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%MZ")


def litres(ml: int) -> str:
    """Return millilitres as litres, every one of them."""
    return f"{ml // 1000}.{ml % 1000:03d}".rstrip("0").rstrip(".") + " l"


def write_csv(path: Path, columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> None:
    """Write a table; the same rows are the same bytes everywhere."""
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, list(columns), restval="", lineterminator="\n")
        table.writeheader()
        table.writerows(rows)
