"""How racks are laid out in lines: a heading a row, bays side by side, tiers above each other."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from cooperage.book import Standing
from cooperage.book.store.registry import Position

T = TypeVar("T")

_WIDEST_GAP = 3
"""So many free bays between two vessels are drawn; a wider gap is closed up."""


@dataclass(frozen=True, slots=True)
class FreePlace:
    """A place where nothing stands."""

    position: Position


Spot = Standing | FreePlace | None


@dataclass(frozen=True, slots=True)
class RackLine:
    """One line of the map: a heading over its bays, or the spots of a tier side by side (None is nothing at all)."""

    heading: str = ""
    vessels: tuple[Spot, ...] = ()
    bays: tuple[int, ...] = ()
    tier: int | None = None
    rack: tuple[str | None, str | None] = (None, None)


def lay_out(standings: Sequence[Standing], across: int, *, gaps: bool = False, spare: bool = False) -> list[RackLine]:
    """Lay vessels out by room and row, in lines of `across` bays, the top tier uppermost.

    `gaps` draws the free bays in between; `spare` puts a `FreePlace` into every free place, with a bay and a tier to
    grow.
    """
    lines: list[RackLine] = []
    for rack, group in groupby(standings, key=lambda s: s.position[:2]):
        lines += _Rack(rack, list(group), across, spare=spare).lines(gaps=gaps or spare)
    return lines


class _Rack:
    """A row of a room."""

    def __init__(
        self, rack: tuple[str | None, str | None], here: Sequence[Standing], across: int, *, spare: bool
    ) -> None:
        self._rack, self._across, self._spare = rack, across, spare and rack[0] is not None
        self._loose = [s for s in here if s.position[2] is None]
        self._placed: dict[int, dict[int, list[Standing]]] = {}
        for s in here:
            _, _, bay, tier = s.position
            if bay is not None:
                self._placed.setdefault(bay, {}).setdefault(tier or 1, []).append(s)

    def lines(self, *, gaps: bool) -> list[RackLine]:
        """Draw the bays part by part, then what has no bay."""
        bays = self._bays(gaps=gaps)
        parts = list(_parts(bays, self._across))
        lines: list[RackLine] = []
        for part in parts:
            lines.append(self._heading(part))
            lines += self._tiers(part)
        spots: list[Spot] = [*self._loose]
        if self._spare and (self._loose or not bays):
            spots.append(FreePlace((*self._rack, None, None)))
        if spots and not parts:
            lines.append(self._heading(()))
        return lines + [RackLine(vessels=tuple(part), rack=self._rack) for part in _parts(spots, self._across)]

    def _bays(self, *, gaps: bool) -> list[int]:
        taken = sorted(self._placed)
        bays = taken[:1]
        for bay in taken[1:]:
            is_near = gaps and bay - bays[-1] <= _WIDEST_GAP + 1
            bays += range(bays[-1] + 1, bay + 1) if is_near else [bay]
        return [*bays, bays[-1] + 1] if bays and self._spare else bays

    def _heading(self, part: Sequence[int]) -> RackLine:
        room, row = self._rack
        text = "" if not part or part[0] == 1 else f"bay {part[0]}" if len(part) == 1 else f"from bay {part[0]}"
        words = " · ".join(filter(None, (room or "no room", f"row {row}" if row else "", text)))
        return RackLine(words, bays=tuple(part), rack=self._rack)

    def _tiers(self, part: Sequence[int]) -> Iterator[RackLine]:
        """Draw the tiers of some bays; two vessels recorded in the same place are both shown."""
        tiers = {tier for bay in part for tier in self._placed.get(bay, ())}
        if self._spare:
            tiers |= {1, max(tiers, default=0) + 1}
        for tier in sorted(tiers, reverse=True):
            found = [self._placed.get(bay, {}).get(tier, []) for bay in part]
            for nth in range(max(1, *map(len, found))):
                spots = tuple(
                    here[nth] if nth < len(here) else self._free(bay, tier) if not here else None
                    for bay, here in zip(part, found, strict=True)
                )
                yield RackLine(vessels=spots, tier=tier if nth == 0 else None, rack=self._rack)

    def _free(self, bay: int, tier: int) -> FreePlace | None:
        return FreePlace((*self._rack, bay, tier)) if self._spare else None


def _parts(items: Sequence[T], size: int) -> Iterator[Sequence[T]]:
    return (items[begin : begin + size] for begin in range(0, len(items), size))
