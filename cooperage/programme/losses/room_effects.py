"""What the barrels of a room have in common: its season and its spells, learnt from all of them together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.air.first_year import season_until_now
from cooperage.programme.air.harmonic import mean_multiples, spells
from cooperage.programme.air.season import NO_SEASON, UNKNOWN_SEASON, Season
from cooperage.programme.losses.record import VisitRecord

Floats = NDArray[np.float64]

_FEW = 32  # visits below which a room takes the whole cellar's season


@dataclass(frozen=True)
class Room:
    """A room's season, and the spells left over when that is taken out."""

    season: Season = NO_SEASON
    moments: Floats = field(default_factory=lambda: np.zeros(1))
    spells: Floats = field(default_factory=lambda: np.ones(1))

    def factor(self, began: Floats, ended: Floats) -> Floats:
        """How much more than on average the room's barrels lost by each visit."""
        return mean_multiples(self.season, began, ended) * self.spell(began, ended)

    def spell(self, began: Floats, ended: Floats) -> Floats:
        """How much more than at that time of the year."""
        return np.interp((began + ended) / 2, self.moments, self.spells)


@dataclass(frozen=True)
class _Visited:
    """All visits of one room, barrel after barrel: exposures without season [m2 day] and where each barrel begins."""

    lost: Floats
    began: Floats
    ended: Floats
    flat: Floats
    starts: NDArray[np.int64]
    barrel: NDArray[np.int64]

    def ratio(self, room: "Room") -> Floats:
        """What each visit lost over what its barrel's middling visit predicts, the season left in."""
        rate = self.lost / (self.flat * room.factor(self.began, self.ended))
        ordered = rate[np.lexsort((rate, self.barrel))]
        count = np.diff(np.append(self.starts, len(rate)))
        middling = (ordered[self.starts + (count - 1) // 2] + ordered[self.starts + count // 2]) / 2
        return np.asarray(self.lost / (np.maximum(middling, 1e-9)[self.barrel] * self.flat))


def _visited(records: Sequence[VisitRecord]) -> _Visited:
    columns = [
        (record.area_m2, *record.columns)
        for record in records
        if record.has_enough_visits and record.columns[0].sum() > 0
    ]
    counts = [len(lost) for _, lost, _, _ in columns]
    lost, began, ended = (
        np.concatenate([each[nth] for each in columns]) if columns else np.zeros(0) for nth in (1, 2, 3)
    )
    barrel = np.repeat(np.arange(len(counts)), counts)
    area = np.repeat([each[0] for each in columns], counts)
    starts = np.cumsum([0, *counts[:-1]]) if counts else np.zeros(0, dtype=np.int64)
    return _Visited(lost, began, ended, area * (ended - began) / 86_400, starts, barrel)


def rooms_of(records: Sequence[VisitRecord], by_air: Mapping[str, Season] | None = None) -> dict[str, Room]:
    """Fit each room's season, then its spells; each twice, since a barrel's mean rate needs them too.

    A room whose barrels have not shown a season yet takes the one that its own air makes (`by_air`), if that is known.
    """
    by_room: dict[str, list[VisitRecord]] = {}
    for record in records:
        by_room.setdefault(record.room, []).append(record)
    tables = {room: _visited(those) for room, those in by_room.items()}
    rooms = {room: Room() for room in tables}
    for _ in range(2):
        ratios = {name: table.ratio(rooms[name]) for name, table in tables.items()}
        of_all = _season_of_all(tables, ratios)
        rooms = {name: Room(_or(_season(tables[name], ratios[name]), of_all, ratios[name])) for name in rooms}
        rooms = {name: _by_air(room, (by_air or {}).get(name)) for name, room in rooms.items()}
    for _ in range(2):
        rooms = {name: _with_spells(room, tables[name]) for name, room in rooms.items()}
    return rooms


def _by_air(room: Room, by_air: Season | None) -> Room:
    return room if by_air is None or not by_air.is_known or room.season.is_known else Room(by_air)


def _season_of_all(tables: Mapping[str, _Visited], ratios: Mapping[str, Floats]) -> Season:
    """Fit the whole cellar's season, if any room has so few visits that it may take it."""
    if all(len(ratio) >= _FEW for ratio in ratios.values()):
        return UNKNOWN_SEASON
    columns = zip(*((table.began, table.ended, ratios[name]) for name, table in tables.items()), strict=True)
    began, ended, ratio = (np.concatenate(each) for each in columns)
    return season_until_now(began, ended, ratio)


def _season(table: _Visited, ratio: Floats) -> Season:
    return season_until_now(table.began, table.ended, ratio)


def _with_spells(room: Room, table: _Visited) -> Room:
    ratio = table.ratio(room) / mean_multiples(room.season, table.began, table.ended)
    moments, found = spells(table.began, table.ended, ratio)
    return Room(room.season, moments, found / found.mean())


def _or(own: Season, of_all: Season, rows: Floats) -> Season:
    is_shown = own.is_known and own != NO_SEASON
    return of_all if not is_shown and len(rows) < _FEW else own
