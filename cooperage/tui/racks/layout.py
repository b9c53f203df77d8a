"""How racks are laid out in lines: a heading a room over its bays, the rows below each other, tiers above each other.

The bays of a room are aligned: bay 3 of every row stands under bay 3 of the heading.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from cooperage.book import Standing
from cooperage.book.store.registry import Position

T = TypeVar("T")
Rack = tuple[str | None, str | None]

_WIDEST_GAP = 3
"""So many free bays between two vessels are drawn; a wider gap is closed up."""


@dataclass(frozen=True, slots=True)
class FreePlace:
    """A place where nothing stands."""

    position: Position


Spot = Standing | FreePlace | None


@dataclass(frozen=True, slots=True)
class RackLine:
    """One line of the map: a heading over its bays, or the spots of a tier side by side (None is nothing at all).

    `label` is the row with its tier, for the left margin.
    """

    heading: str = ""
    vessels: tuple[Spot, ...] = ()
    bays: tuple[int, ...] = ()
    label: str = ""
    rack: Rack = (None, None)


def lay_out(standings: Sequence[Standing], across: int, *, gaps: bool = False, spare: bool = False) -> list[RackLine]:
    """Lay vessels out by room and row, in lines of `across` bays, the top tier uppermost.

    `gaps` draws the free bays in between; `spare` puts a `FreePlace` into every free place, with a bay and a tier to
    grow.
    """
    lines: list[RackLine] = []
    for room, group in groupby(standings, key=lambda s: s.position[0]):
        rows = [_Row((room, row), list(here)) for row, here in groupby(group, key=lambda s: s.position[1])]
        lines += _Room(room, rows, across, spare=spare and room is not None).lines(gaps=gaps or spare)
    return lines


class _Row:
    """A row of a room: what stands in its bays, by bay and tier, and what has no bay."""

    def __init__(self, rack: Rack, here: Sequence[Standing]) -> None:
        self.rack = rack
        self.loose = [s for s in here if s.position[2] is None]
        self.placed: dict[int, dict[int, list[Standing]]] = {}
        for s in here:
            _, _, bay, tier = s.position
            if bay is not None:
                self.placed.setdefault(bay, {}).setdefault(tier or 1, []).append(s)
        self._has_tiers = any(s.position[3] is not None for s in here)

    def tiers(self, part: Sequence[int], *, spare: bool) -> Iterator[RackLine]:
        """Draw the tiers of some bays; two vessels recorded in the same place are both shown."""
        tiers = {tier for bay in part for tier in self.placed.get(bay, ())}
        if spare and self.placed:
            tiers |= {1, max(tiers, default=0) + 1}
        for tier in sorted(tiers, reverse=True):
            found = [self.placed.get(bay, {}).get(tier, []) for bay in part]
            for nth in range(max(1, *map(len, found))):
                spots = tuple(
                    here[nth] if nth < len(here) else self._free(bay, tier, spare=spare) if not here else None
                    for bay, here in zip(part, found, strict=True)
                )
                yield RackLine(vessels=spots, label=self._label(tier) if nth == 0 else "", rack=self.rack)

    def _label(self, tier: int) -> str:
        return " ".join(filter(None, (self.rack[1], str(tier) if self._has_tiers else "")))

    def _free(self, bay: int, tier: int, *, spare: bool) -> FreePlace | None:
        return FreePlace((*self.rack, bay, tier)) if spare else None


class _Room:
    """A room, or what has none."""

    def __init__(self, name: str | None, rows: Sequence[_Row], across: int, *, spare: bool) -> None:
        self._name, self._rows, self._across, self._spare = name, rows, across, spare

    def lines(self, *, gaps: bool) -> list[RackLine]:
        """Draw the bays part by part, then what has no bay."""
        bays = self._bays(gaps=gaps)
        lines: list[RackLine] = []
        for part in _parts(bays, self._across):
            lines.append(self._heading(part))
            for row in self._rows:
                lines += row.tiers(part, spare=self._spare)
        if not bays:
            lines.append(self._heading(()))
        for row in self._rows:
            lines += self._loose(row)
        return lines

    def _loose(self, row: _Row) -> Iterator[RackLine]:
        spots: list[Spot] = [*row.loose]
        if self._spare and (row.loose or not row.placed):
            spots.append(FreePlace((*row.rack, None, None)))
        for part in _parts(spots, self._across):
            yield RackLine(vessels=tuple(part), label=row.rack[1] or "", rack=row.rack)

    def _bays(self, *, gaps: bool) -> list[int]:
        taken = sorted({bay for row in self._rows for bay in row.placed})
        bays = taken[:1]
        for bay in taken[1:]:
            is_near = gaps and bay - bays[-1] <= _WIDEST_GAP + 1
            bays += range(bays[-1] + 1, bay + 1) if is_near else [bay]
        return [*bays, bays[-1] + 1] if bays and self._spare else bays

    def _heading(self, part: Sequence[int]) -> RackLine:
        is_first = not part or part[0] == 1
        words = ", ".join(filter(None, (self._name or "no room", "" if is_first else f"from bay {part[0]}")))
        return RackLine(words, bays=tuple(part), rack=self._rows[0].rack)


def _parts(items: Sequence[T], size: int) -> Iterator[Sequence[T]]:
    return (items[begin : begin + size] for begin in range(0, len(items), size))
