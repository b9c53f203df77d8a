"""The drawing of one spot on the racks: tag, state, a gauge of the level now, and a measure on its plate."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.app import App
from textual.content import Content

from cooperage.book import Standing
from cooperage.programme.search.marks import Marks, State
from cooperage.programme.search.measures import COMING, EMPTY, PlateFigure, width_of
from cooperage.tui.racks.layout import FreePlace, RackLine, Spot
from cooperage.tui.shared.gauges import level_glyph
from cooperage.tui.shared.ink import DUE, HERE, TROUBLE, heading, ink, plate, pointed

CHOSEN_MARK = "*"
RETIRED_MARK, SOAKING_MARK = "x", "~"
LIFTED = "moves"
"""What stands for the figure of a vessel in hand; as short as "empty"."""
_LEAST_TAG, _MOST_TAG, _LEAST_MARGIN = 5, 12, 7
_PLATE = 13
"""Columns of a plate that stands under its tag."""


class Cells:
    """Draws spots as wide as the longest tag and figure ask for; large, a plate stands under each tag."""

    def __init__(
        self,
        standings: Collection[Standing],
        marks: Marks,
        carried: Collection[str],
        shown: Mapping[str, PlateFigure],
        *,
        is_large: bool = False,
    ) -> None:
        longest = max((len(s.tag) for s in standings), default=0)
        self._tag = min(max(longest, _LEAST_TAG), _MOST_TAG)
        self._marks, self._carried, self._shown = marks, carried, shown
        self._troubled = marks.troubled
        self._figure = width_of(shown.values())
        self._is_large = is_large
        small = self._tag + 2 + self._figure
        self._inner = max(_PLATE, self._tag + 4, self._figure + 3) if is_large else small
        self.width = self._inner + 1 + is_large
        self.height = 2 if is_large else 1
        self.margin = _LEAST_MARGIN
        self._drawn: dict[tuple[object, ...], list[Segment]] = {}

    def fit_margin(self, labels: Collection[str]) -> None:
        """Make the left margin as wide as the longest row and tier ask for."""
        self.margin = max(_LEAST_MARGIN, *(len(label) + 2 for label in labels)) if labels else _LEAST_MARGIN

    def across(self, width: int) -> int:
        """Return how many fit side by side."""
        return max(1, (width - self.margin) // self.width)

    def at(self, x: int) -> int:
        """Return which spot of a line lies at a column of the screen; negative left of them all."""
        return (x - self.margin) // self.width

    def heading(self, app: App[Any], line: RackLine) -> list[Segment]:
        """Draw the name of a room, and the numbers of its bays where the name leaves room."""
        done = f" {line.heading}"
        parts = [Segment(done, heading(app))]
        at = cell_len(done)
        for nth, bay in enumerate(line.bays):
            begins = self.margin + 1 + nth * self.width
            if at < begins:
                words = f"bay {bay}"
                parts.append(Segment(" " * (begins - at) + words, ink(app, "quiet")))
                at = begins + len(words)
        return parts

    def row(self, app: App[Any], line: RackLine, part: int, here: int | None, chosen: Collection[str]) -> list[Segment]:
        """Draw one of the `height` rows of a line; the pointer is on its spot `here`."""
        label = line.label if part == 0 else ""
        parts = [Segment(f" {label:<{self.margin - 1}}", ink(app, "quiet"))]
        for x, spot in enumerate(line.vessels):
            parts += self._spot(app, spot, part, is_here=x == here, is_chosen=_tag(spot) in chosen)
        return parts

    def _spot(self, app: App[Any], spot: Spot, part: int, *, is_here: bool, is_chosen: bool) -> list[Segment]:
        """Return a spot as it is drawn, and remember it: a moved pointer changes two."""
        named = None if spot is None else _tag(spot) or spot.position
        asked = (app.theme, named, part, is_here, is_chosen)
        if asked not in self._drawn:
            self._drawn[asked] = self._draw(app, spot, part, is_here=is_here, is_chosen=is_chosen)
        return self._drawn[asked]

    def _draw(self, app: App[Any], spot: Spot, part: int, *, is_here: bool, is_chosen: bool) -> list[Segment]:
        gap = CHOSEN_MARK if is_chosen else HERE if is_here else " "
        made = [Segment(gap if part == 0 else " ", ink(app, "ink", bold=True))]
        made += self._inside(app, spot, part, is_here=is_here)
        wide = sum(cell_len(segment.text) for segment in made)
        return [*made, Segment(" " * (self.width - wide))] if wide < self.width else made

    def _inside(self, app: App[Any], spot: Spot, part: int, *, is_here: bool) -> Iterator[Segment]:
        match spot:
            case Standing():
                style = (
                    pointed(app) if is_here else ink(app, "quiet" if spot.is_retired else "ink", bold=self._is_large)
                )
                if self._is_large:
                    yield from self._large(app, spot, part, style)
                else:
                    yield from self._small(app, spot, style)
            case FreePlace() if part == 0:
                yield Segment("· free", pointed(app) if is_here else ink(app, "quiet"))

    def _small(self, app: App[Any], standing: Standing, style: Style) -> Iterator[Segment]:
        yield Segment(f"{self._cut(standing.tag):<{self._tag}}", style)
        if standing.tag in self._carried:
            yield Segment(f" {LIFTED:<{self._figure + 1}}", ink(app, "quiet"))
            return
        yield self._state(app, standing)
        shown = self._of(standing)
        if shown.text == EMPTY or len(shown.text) > self._figure:
            yield Segment(f"{shown.text:<{self._figure + 1}}", ink(app, "quiet"))
            return
        yield self._gauge(app, standing)
        yield Segment(f"{shown.text:>{self._figure}}", self._style(app, shown))

    def _large(self, app: App[Any], standing: Standing, part: int, style: Style) -> Iterator[Segment]:
        is_lifted, shown = standing.tag in self._carried, self._of(standing)
        if part == 0:
            tag = self._cut(standing.tag)
            yield Segment(tag, style)
            yield Segment(" ")
            yield self._state(app, standing)
            if standing.ml and not is_lifted:
                yield Segment(" " * (self._inner - cell_len(tag) - 3))
                yield self._gauge(app, standing)
        elif is_lifted or not shown.is_figure:
            words = LIFTED if is_lifted else shown.text
            yield Segment(f" {words:<{self._inner - 1}}", ink(app, "quiet"))
        else:
            figure = f" {shown.text:>{self._figure}}"
            yield Segment(f"{figure:<{self._inner}}", self._style(app, shown))

    def _cut(self, tag: str) -> str:
        return tag if len(tag) <= self._tag else f"{tag[: self._tag - 1]}…"

    def _of(self, standing: Standing) -> PlateFigure:
        return self._shown.get(standing.tag, PlateFigure(COMING))

    def _state(self, app: App[Any], standing: Standing) -> Segment:
        """Draw what matters most of a vessel's state in one column."""
        if standing.is_retired:
            return Segment(RETIRED_MARK, ink(app, "quiet"))
        if standing.tag in self._troubled:
            return Segment(TROUBLE, ink(app, "ember"))
        if standing.tag in self._marks.due:
            return Segment(DUE, ink(app, "honey"))
        return Segment(SOAKING_MARK if State.SOAKING in self._marks.states(standing) else " ", ink(app, "quiet"))

    def _gauge(self, app: App[Any], standing: Standing) -> Segment:
        glyph = level_glyph(self._marks.level_ml(standing), standing.vessel.capacity_ml)
        return Segment(glyph, ink(app, "mead"))

    def _style(self, app: App[Any], shown: PlateFigure) -> Style:
        if shown.step is not None:
            return plate(app, shown.step)
        return ink(app, "ink" if shown.is_figure else "quiet")


def _tag(spot: Spot) -> str:
    return spot.tag if isinstance(spot, Standing) else ""


def legend(steps: Sequence[str], limit: str, unknown: str, width: int) -> Content:
    """Explain the steps of a measure in one line: the foot of each on its plate; limit, level, what is `unknown`."""
    plates = Content("").join(
        [Content.styled(f" {words} ", f"$on-heather-{nth} on $heather-{nth}") for nth, words in enumerate(steps, 1)]
    )
    parts = [plates] if steps else []
    for words in (limit, "▇ level", unknown):
        if words and sum(part.cell_length + 2 for part in parts) + cell_len(words) <= width:
            parts.append(Content.styled(words, "$quiet"))
    return Content("  ").join(parts)
