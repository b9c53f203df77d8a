"""The map of the racks: the cursor walks it, from vessel to vessel, or from place to place with a vessel in hand."""

from bisect import bisect_right
from collections.abc import Collection, Hashable, Mapping, Sequence
from typing import ClassVar

from rich.segment import Segment
from rich.text import Text
from textual import events
from textual.binding import BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip

from cooperage.book import Standing
from cooperage.book.store.registry import Position
from cooperage.programme.search.marks import Marks
from cooperage.programme.search.measures import PlateFigure
from cooperage.tui.keys import bound
from cooperage.tui.racks.cells import Cells
from cooperage.tui.racks.layout import FreePlace, RackLine, Spot, lay_out
from cooperage.tui.shared.ink import ground
from cooperage.tui.shared.line_list import Lines

_FAR = 1_000_000
_USUAL_WIDTH = 80
_LARGE = Size(97, 26)
"""From so much room on, a plate stands under each tag."""


class RackMap(Lines):
    """The map; arrows walk it, Enter takes what is under the cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "take", "barrel page"),
        bound("enter", "set_down", "set down here"),
        bound("next", "rack(1)", "next rack", show=True),
        bound("previous", "rack(-1)", "previous rack"),
        bound("up", "walk(-1)"),
        bound("down", "walk(1)"),
        bound("left", "step(-1)"),
        bound("right", "step(1)"),
        bound("page up", "page(-1)"),
        bound("page down", "page(1)"),
        bound("first", f"page(-{_FAR})"),
        bound("last", f"page({_FAR})"),
    ]
    place: reactive[tuple[int, int]] = reactive((0, 0), repaint=False)

    class Moved(Message, bubble=False):
        """The cursor stands on another vessel, on a free place, or on nothing."""

        def __init__(self, spot: Spot) -> None:
            super().__init__()
            self.spot = spot

    class Taken(Moved, bubble=True):
        """What is under the cursor was taken, to be opened or to be set down upon."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._standings: Sequence[Standing] = ()
        self._marks = Marks()
        self._carried: Collection[str] = ()
        self._chosen: Collection[str] = ()
        self._shown: Mapping[str, PlateFigure] = {}
        self._gaps = False
        self._cells = Cells((), self._marks, (), {})
        self._laid: list[RackLine] = []
        self._fits = (0, 0)
        self._racks: list[int] = []
        self._rooms: list[int] = []
        self._rows: list[tuple[int, int]] = []
        self._tops: list[int] = []

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show(
        self,
        standings: Sequence[Standing],
        marks: Marks,
        shown: Mapping[str, PlateFigure],
        *,
        gaps: bool = False,
        carried: Collection[str] = (),
    ) -> None:
        """Show these vessels with their marks and a measure of each, `gaps` with the free bays in between.

        The cursor stays where it is; with something carried, it walks the free places too.
        """
        self._standings, self._marks, self._shown = standings, marks, shown
        self._gaps, self._carried = gaps, carried
        self._lay()
        self.refresh_bindings()

    def _lay(self) -> None:
        spot = self.spot
        self._cells = self._cells_that_fit()
        self._fits = self._fitting()
        self._laid = lay_out(self._standings, self._fits[1], gaps=self._gaps, spare=bool(self._carried))
        self._racks, self._rooms = [], []
        self._rows, self._tops = [], []
        for y, line in enumerate(self._laid):
            self._begin(y)
            self._tops.append(len(self._rows))
            self._rows += [(y, part) for part in range(self._rows_of(y, line))]
        self.set_reactive(RackMap.place, (self._find(_name(spot)) if spot else None) or self._first())
        self.lines_changed()
        self._show_place()
        self.post_straight(self.Moved(self.spot))

    def _rows_of(self, y: int, line: RackLine) -> int:
        """Return how many rows of the screen a line takes: large, a heading has a blank one above it."""
        return self._cells.height if not line.heading or y else 1

    def _find(self, name: str | Position) -> tuple[int, int] | None:
        """Find a spot by the name it keeps; looked for when it is asked for, since few ever are."""
        for y, line in enumerate(self._laid):
            for x, spot in enumerate(line.vessels):
                if spot is not None and _name(spot) == name:
                    return y, x
        return None

    def _first(self) -> tuple[int, int]:
        line = self._next_line(-1, 1)
        return (0, 0) if line is None else (line, self._held(line)[0])

    def _begin(self, y: int) -> None:
        """Remember where racks and rooms begin."""
        before = self._laid[y - 1].rack if y else None
        here = self._laid[y].rack
        if here != before:
            self._racks.append(y)
            if before is None or before[0] != here[0]:
                self._rooms.append(y)

    def on_resize(self) -> None:
        """Lay out again where more or fewer vessels fit side by side, or they may be drawn larger."""
        if self._fits != self._fitting():
            self._lay()
        else:
            self.lines_changed()

    def _cells_that_fit(self) -> Cells:
        size = self.scrollable_content_region.size
        is_large = size.width >= _LARGE.width and size.height >= _LARGE.height
        cells = Cells(self._standings, self._marks, self._carried, self._shown, is_large=is_large)
        cells.fit_margin({line.label for line in lay_out(self._standings, _FAR)})
        return cells

    def _fitting(self) -> tuple[int, int]:
        cells = self._cells_that_fit()
        return cells.height, cells.across(self.scrollable_content_region.width or _USUAL_WIDTH)

    @property
    def line_count(self) -> int:
        """How many rows of the screen there are."""
        return len(self._rows)

    @property
    def spot(self) -> Spot:
        """The vessel or the free place under the cursor."""
        return self._spot_at(*self.place)

    def _spot_at(self, y: int, x: int) -> Spot:
        is_there = 0 <= y < len(self._laid) and 0 <= x < len(self._laid[y].vessels)
        return self._laid[y].vessels[x] if is_there else None

    @property
    def current(self) -> Standing | None:
        """The vessel under the cursor."""
        return self.spot if isinstance(self.spot, Standing) else None

    def line(self, y: int, width: int) -> Text:  # noqa: ARG002 - cells have a fixed width
        """Return one row of the screen."""
        return Text.assemble(*((segment.text, segment.style or "") for segment in self._segments(y)))

    def _segments(self, y: int) -> list[Segment]:
        at, part = self._rows[y]
        line = self._laid[at]
        if line.heading:
            return self._cells.heading(self.app, line) if part == self._rows_of(at, line) - 1 else []
        here = self.place[1] if at == self.place[0] else None
        return self._cells.row(self.app, line, part, here, self._chosen)

    def render_line(self, y: int) -> Strip:
        """Draw the row that is `y` rows below the top of the view."""
        index, width = y + self.scroll_offset.y, self.scrollable_content_region.width
        if index >= self.line_count:
            return Strip.blank(width, ground(self.app))
        return Strip(self._segments(index)).adjust_cell_length(width).apply_style(ground(self.app))

    def drawn_as(self, y: int) -> Hashable:
        """Return a row with the column of the cursor, where that stands in its line."""
        return y, self.place[1] if self._rows[y][0] == self.place[0] else None

    def choose(self, chosen: Collection[str]) -> None:
        """Mark these vessels, and no other."""
        self._chosen = set(chosen)
        self.refresh()

    # --- walking ----------------------------------------------------------------------------------------------------

    def go_to(self, tag: str) -> bool:
        """Put the cursor on a vessel, if it is shown."""
        place = self._find(tag)
        self.place = place or self.place
        return place is not None

    def watch_place(self, before: tuple[int, int], place: tuple[int, int]) -> None:
        """Bring the cursor into view; of what is in view, only its lines are drawn again."""
        for y in {before[0], place[0]}:
            if y < len(self._tops):
                self.show_lines(self._tops[y], self._cells.height)
        self._show_place()
        self.post_straight(self.Moved(self.spot))

    def _show_place(self) -> None:
        """Scroll to the cursor, with what is around it."""
        if self.place[0] < len(self._tops):
            around = self._cells.height
            top = self._tops[self.place[0]]
            self.scroll_to_region(Region(0, max(0, top - around), 1, 3 * around), animate=False, force=True)

    def _held(self, y: int) -> list[int]:
        """List the columns of a line where the cursor may stand."""
        return [x for x, spot in enumerate(self._laid[y].vessels) if spot is not None]

    def _next_line(self, y: int, down: int) -> int | None:
        """Find the next line, going down or up, that has a spot to stand on; `y` itself is passed over."""
        lines = range(y + 1, len(self._laid)) if down > 0 else range(min(y, len(self._laid)) - 1, -1, -1)
        return next((at for at in lines if self._held(at)), None)

    def action_step(self, right: int) -> None:
        """Walk along the line; past its end, to the next line."""
        y, x = self.place
        if y >= len(self._laid):
            return
        beside = [at for at in self._held(y) if (at - x) * right > 0]
        if beside:
            self.place = y, min(beside, key=lambda at: abs(at - x))
        elif (line := self._next_line(y, right)) is not None:
            self.place = line, self._held(line)[0 if right > 0 else -1]

    def action_walk(self, down: int) -> None:
        """Walk to the next line, as straight as may be."""
        self._walk_from(self.place[0], down)

    def _walk_from(self, y: int, down: int) -> bool:
        line = self._next_line(y, down)
        if line is None:
            return False
        self.place = line, min(self._held(line), key=lambda at: abs(at - self.place[1]))
        return True

    def action_page(self, pages: int) -> None:
        """Walk by what is in view; at an end, to the very first or last."""
        y, last = self.place[0], len(self._laid)
        in_view = max(1, self.scrollable_content_region.height // self._cells.height - 2)
        far = max(0, min(last - 1, y + pages * in_view))
        down = 1 if pages > 0 else -1
        if far == y or not self._walk_from(far - down, down):
            line = self._next_line(last if pages > 0 else -1, -down)
            if line is not None:
                self.place = line, self._held(line)[-1 if pages > 0 else 0]

    def action_rack(self, on: int) -> None:
        """Go to the next or the previous rack; after the last comes the first."""
        self._go_round(self._racks, on)

    def _go_round(self, begins: Sequence[int], on: int) -> None:
        if not begins:
            return
        here = bisect_right(begins, self.place[0]) - 1
        top = begins[(here + on) % len(begins)]
        if (line := self._next_line(top - 1, 1)) is not None:
            self.place = line, self._held(line)[0]
            self.scroll_to(y=self._tops[top], animate=False, force=True)

    # --- taking -----------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Enter opens a barrel, or sets down what is carried; racks are a key only where there are several."""
        match action:
            case "take":
                return not self._carried
            case "set_down":
                return bool(self._carried)
            case "rack":
                return len(self._racks) > 1
            case "room":
                return len(self._rooms) > 1
        return True

    def action_take(self) -> None:
        """Take what is under the cursor."""
        if self.spot is not None:
            self.post_message(self.Taken(self.spot))

    def action_set_down(self) -> None:
        """Set what is carried down there."""
        self.action_take()

    def on_click(self, event: events.Click) -> None:
        """Put the cursor on what was clicked; a second click takes it."""
        clicked = event.get_content_offset(self)
        if clicked is None:
            return
        row, x = clicked.y + self.scroll_offset.y, self._cells.at(clicked.x)
        y = self._rows[row][0] if row < len(self._rows) else -1
        if self._spot_at(y, x) is not None:
            self.place = y, x
            if event.chain == 2:
                self.action_take()


def _name(spot: Standing | FreePlace) -> str | Position:
    """Return the key by which a spot is found when the racks are laid out again."""
    return spot.tag if isinstance(spot, Standing) else spot.position
