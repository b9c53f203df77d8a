"""A bottling run, its lines, and what they come to."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cached_property
from typing import Any


class RunLineKind(StrEnum):
    """What a line of a run is about."""

    FILLED = "filled"
    REJECTS = "rejects"
    SAMPLE = "sample"
    CHECK = "fill check"
    CLOSURE = "closure"
    LOSS = "line loss"
    STOP = "stop"
    NOTE = "note"
    STRUCK = "struck"


RUN_LINE_KINDS = tuple(kind.value for kind in RunLineKind)


@dataclass(frozen=True, slots=True)
class RunLine:
    """One line: bottles of a size [ml], or a volume [ml], or volumes found at 20 °C [ml], or words.

    `strikes` is the number of the line that it strikes.
    """

    run_id: str
    number: int
    kind: RunLineKind
    bottle_ml: int | None = None
    bottles: int | None = None
    ml: int | None = None
    volumes_ml: tuple[float, ...] = ()
    words: str = ""
    strikes: int | None = None
    hand: str = ""
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class RunExpected:
    """What was expected as a run was opened [ml]: what there was to fill, its band, and the loss on the line."""

    fill_ml: int
    low_ml: int
    high_ml: int
    loss_ml: int


@dataclass(frozen=True, slots=True)
class RunClosed:
    """That a run was closed: by which entries, what it came to (see `closing.py`), by whom and when."""

    id: str
    run_id: str
    entries: list[str]
    came_to: dict[str, Any]
    hand: str
    at: datetime


@dataclass(frozen=True)
class BottlingRun:
    """A run: its vessels in the order they are drawn from, sizes [ml] with how many were wanted, None for all there is.

    `label` is the strength on the label [% vol]; `lines` are in order, struck ones too; `closed` is None while it is
    open.
    """

    id: str
    code: str
    vessels: tuple[str, ...]
    sizes: Mapping[int, int | None]
    label: float | None
    expected: RunExpected
    risks_id: str
    hand: str
    opened_at: datetime
    lines: tuple[RunLine, ...] = ()
    closed: RunClosed | None = None

    @property
    def is_open(self) -> bool:
        """True while bottles may be counted into it."""
        return self.closed is None

    @cached_property
    def struck(self) -> frozenset[int]:
        """The numbers of the lines that were struck."""
        return frozenset(line.strikes for line in self.lines if line.strikes is not None)

    @cached_property
    def standing(self) -> tuple[RunLine, ...]:
        """The lines that stand, in order; strikes are not among them."""
        return tuple(
            line for line in self.lines if line.number not in self.struck and line.kind is not RunLineKind.STRUCK
        )

    def bottles(self, kind: RunLineKind) -> dict[int, int]:
        """Return how many bottles stand in lines of a kind, by size [ml], in the order of the run's sizes."""
        counts: Counter[int] = Counter()
        for line in self.standing:
            if line.kind is kind and line.bottle_ml is not None:
                counts[line.bottle_ml] += line.bottles or 0
        return {size: counts[size] for size in self.sizes if counts[size]}

    def volume(self, kind: RunLineKind) -> int:
        """Return what the lines of a kind come to [ml], bottles included."""
        held = sum(size * count for size, count in self.bottles(kind).items())
        return held + sum(line.ml or 0 for line in self.standing if line.kind is kind)

    @property
    def lost_ml(self) -> int:
        """What was lost: on the line, and in bottles that were rejected [ml]."""
        return self.volume(RunLineKind.LOSS) + self.volume(RunLineKind.REJECTS)

    def checked(self, bottle_ml: int) -> list[float]:
        """Return the volumes found in fill checks of a size, at 20 °C [ml]."""
        checks = (line for line in self.standing if line.kind is RunLineKind.CHECK and line.bottle_ml == bottle_ml)
        return [each for line in checks for each in line.volumes_ml]
