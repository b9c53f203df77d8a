"""The racks drawn as they stand: a heading a row, bays side by side, tiers one above the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import reactive

from cooperage.book import Standing
from cooperage.tui.gauges import level_glyph, short_of_full
from cooperage.tui.lines import Lines
from cooperage.units import Units

CELL = 15
"""Width of one vessel: tag 7, level 1, litres short 5, due mark 1, and a gap."""


@dataclass(frozen=True, slots=True)
class RackLine:
    """One line of the map: a heading, or vessels side by side (None is a free place)."""

    heading: str = ""
    vessels: tuple[Standing | None, ...] = ()


def lay_out(standings: Sequence[Standing], across: int) -> list[RackLine]:
    """Lay vessels out by room and row, in lines of `across` bays, the top tier uppermost."""
    lines: list[RackLine] = []
    for (room, row), group in groupby(standings, key=lambda s: s.position[:2]):
        here = list(group)
        bays = _bays(here)
        parts = [bays[begin : begin + across] for begin in range(0, len(bays), across)]
        for part in parts:
            lines.append(RackLine(_heading(room, row, part if len(parts) > 1 else [])))
            lines += _tiers(here, part)
        loose = [s for s in here if s.position[2] is None]
        if loose:
            lines += [RackLine(_heading(room, row, []))] * (not parts)
            lines += [RackLine(vessels=tuple(loose[i : i + across])) for i in range(0, len(loose), across)]
    return lines


def _heading(room: str | None, row: str | None, bays: Sequence[int]) -> str:
    part = f"bay {bays[0]}" if len(bays) == 1 else f"bays {bays[0]} to {bays[-1]}" if bays else ""
    return " · ".join(filter(None, (room or "no room", f"row {row}" if row else "", part)))


def _bays(standings: Sequence[Standing]) -> list[int]:
    return sorted({bay for s in standings if (bay := s.position[2]) is not None})


def _tiers(standings: Sequence[Standing], bays: list[int]) -> list[RackLine]:
    places: dict[tuple[int, int], list[Standing]] = {}
    for s in standings:
        if s.position[2] in bays:
            places.setdefault((s.position[3] or 1, s.position[2] or 0), []).append(s)
    lines = []
    for tier in sorted({tier for tier, _ in places}, reverse=True):
        depth = max(len(places.get((tier, bay), [])) for bay in bays)
        for nth in range(depth):  # two vessels said to lie in one place are both shown
            found = [places.get((tier, bay), []) for bay in bays]
            lines.append(RackLine(vessels=tuple(here[nth] if nth < len(here) else None for here in found)))
    return lines


class RackMap(Lines):
    """The map; arrows walk it, Enter opens the vessel under the cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1, 0)", "up", show=False),
        Binding("down", "step(1, 0)", "down", show=False),
        Binding("left", "step(0, -1)", "left", show=False),
        Binding("right", "step(0, 1)", "right", show=False),
        Binding("pageup", "page(-1)", "page up", show=False),
        Binding("pagedown", "page(1)", "page down", show=False),
        Binding("home", "page(-1000000)", "first", show=False),
        Binding("end", "page(1000000)", "last", show=False),
        Binding("enter", "take", "open barrel"),
    ]
    place: reactive[tuple[int, int]] = reactive((0, 0))

    class Moved(Message):
        """The cursor stands on another vessel, or on none."""

        def __init__(self, standing: Standing | None) -> None:
            super().__init__()
            self.standing = standing

    class Taken(Moved):
        """A vessel was taken."""

    def __init__(self, units: Units, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._units = units
        self._standings: Sequence[Standing] = ()
        self._due: Mapping[str, str] = {}
        self._short: Mapping[str, int] = {}
        self._laid: list[RackLine] = []
        self._where: dict[str, tuple[int, int]] = {}

    def show(self, standings: Sequence[Standing], due: Mapping[str, str], short: Mapping[str, int]) -> None:
        """Show these vessels, with the due mark of each tag and what it is short of full [ml]; the cursor stays."""
        self._standings, self._due, self._short = standings, due, short
        self._lay()

    def _lay(self) -> None:
        tag = self.current.tag if self.current else ""
        across = max(1, (self.scrollable_content_region.width or 78) // CELL)
        self._laid = lay_out(self._standings, across)
        self._where = {
            standing.tag: (y, x)
            for y, line in enumerate(self._laid)
            for x, standing in enumerate(line.vessels)
            if standing is not None
        }
        self.place = self._where.get(tag, next(iter(self._where.values()), (0, 0)))
        self.lines_changed()
        self.post_message(self.Moved(self.current))

    def on_resize(self) -> None:
        """Lay out anew for the new width."""
        self._lay()

    @property
    def line_count(self) -> int:
        """How many lines there are."""
        return len(self._laid)

    @property
    def current(self) -> Standing | None:
        """The vessel under the cursor."""
        y, x = self.place
        return self._laid[y].vessels[x] if y < len(self._laid) and x < len(self._laid[y].vessels) else None

    def line(self, y: int, width: int) -> Text:  # noqa: ARG002 - cells have a fixed width
        """Draw one line."""
        line = self._laid[y]
        if line.heading:
            return Text(line.heading, style="bold underline")
        text = Text()
        for x, standing in enumerate(line.vessels):
            cell = "" if standing is None else self._cell(standing)
            text.append(f"{cell:<{CELL - 1}}", Style(reverse=True, bold=True) if (y, x) == self.place else "")
            text.append(" ")
        return text

    def _cell(self, standing: Standing) -> str:
        short = self._short.get(standing.tag, standing.headspace_ml)
        glyph = level_glyph(standing.vessel.capacity_ml - short, standing.vessel.capacity_ml) if standing.ml else " "
        told = short_of_full(standing.ml, short, self._units)
        return f"{standing.tag[:6]:<6} {glyph}{told:>5}{self._due.get(standing.tag, ' ')}"

    def go_to(self, tag: str) -> bool:
        """Put the cursor on a vessel, if it is shown."""
        if tag not in self._where:
            return False
        self.place = self._where[tag]
        return True

    def watch_place(self) -> None:
        """Bring the cursor into view."""
        self.show_line(self.place[0])
        self.post_message(self.Moved(self.current))
        self.refresh()

    def action_step(self, down: int, right: int) -> None:
        """Walk to the next vessel in a direction; past the end of a line, to the next line."""
        y, x = self.place
        if right:
            order = list(self._where.values())
            at = order.index(self.place) + right if self.place in order else 0
            if 0 <= at < len(order):
                self.place = order[at]
        else:
            self._walk_down(y, x, down)

    def _walk_down(self, y: int, x: int, down: int) -> None:
        lines = range(y + 1, len(self._laid)) if down > 0 else range(y - 1, -1, -1)
        for at in lines:
            held = [i for i, standing in enumerate(self._laid[at].vessels) if standing is not None]
            if held:
                self.place = at, min(held, key=lambda i: abs(i - x))
                return

    def action_page(self, pages: int) -> None:
        """Walk by what is in view."""
        y, x = self.place
        far = max(0, min(len(self._laid) - 1, y + pages * max(1, self.scrollable_content_region.height - 2)))
        before = self.place
        self._walk_down(far - (1 if pages > 0 else -1), x, 1 if pages > 0 else -1)
        if self.place == before and self._where:
            self.place = list(self._where.values())[-1 if pages > 0 else 0]

    def action_take(self) -> None:
        """Take the vessel under the cursor."""
        if self.current is not None:
            self.post_message(self.Taken(self.current))

    def on_click(self, event: events.Click) -> None:
        """Put the cursor on what was clicked; a second click opens it."""
        y, x = event.y + self.scroll_offset.y, event.x // CELL
        if y < len(self._laid) and x < len(self._laid[y].vessels) and self._laid[y].vessels[x] is not None:
            self.place = y, x
            if event.chain == 2:
                self.action_take()
