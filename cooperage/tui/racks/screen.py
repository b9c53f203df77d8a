"""Racks: the cellar as it stands, to walk with the arrows."""

from collections.abc import Iterator, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Label, Static

from cooperage.book import Cellar, Standing
from cooperage.book.vessel_words import place_words
from cooperage.programme.search.described import Described, describe, describe_ahead
from cooperage.programme.search.marks import Marks
from cooperage.programme.search.measures import MEASURES, UNKNOWN, Measured, after, measure_all, measure_first
from cooperage.programme.search.query import BadQuery, find_vessels
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import said
from cooperage.tui.racks.card import large_card, small_card
from cooperage.tui.racks.cells import CHOSEN_MARK, legend
from cooperage.tui.racks.in_hand import VesselsInHand
from cooperage.tui.racks.layout import FreePlace, Spot
from cooperage.tui.racks.map import RackMap
from cooperage.tui.racks.shift_form import hand_lines
from cooperage.tui.several.acts import act_bindings
from cooperage.tui.shared.bars import FindBox
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.gauges import titled
from cooperage.tui.shared.ink import DUE, TROUBLE
from cooperage.tui.shared.steady import Steady
from cooperage.units import counted

CARD_BESIDE = 120
"""From so many columns on, the card of the vessel under the cursor stands beside the map."""


class FilterBox(Input):
    """The box for what to look for."""

    BINDINGS: ClassVar[list[BindingType]] = [bound("enter", "submit", "to the racks")]


_KEPT_FOR_COUNT = 29
"""Columns kept for the numbers of a cellar of a hundred vessels, so that they move nothing once they are calculated."""
_ROOM_TO_COUNT = 72
"""Columns from which the number of vessels stands beside what the measure is."""


class RacksScreen(VesselsInHand):
    """The cellar as it stands: each vessel's tag, ▲ for trouble or ○ for what is due, its level, and one measure.

    v shows the next measure: what a barrel is short of full, SO2 now, loss, volatile acidity, score, age in wood,
    strength, lot. Its steps and its limit stand under the map.

    The filter finds any words. It also knows: lot heather, wood acacia, past rum, fill 3, fill 1-2, level <95%, below
    95%, short >2 L, due, due top, low, full, empty, soaking, retired, room loft, row a, bay 3, tier 2; and not before
    any of them. A vessel must match all the words.

    Space marks a vessel, and what is done is done to all that are marked; with a filter and no mark, to all found.
    """

    NAME = "racks"
    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (CARD_BESIDE, "-wide")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("view", "measure", "measure"),
        bound("mark", "mark"),
        *act_bindings(),
        bound("upkeep", "upkeep"),
        bound("rows", "filter", "filter"),
        bound("move", "lift"),
        bound("edit", "type_place", "type the place"),
        bound("new", "app.ask('vessel')", "new vessel"),
        bound("trace back", "trace_pointed('back')"),
        bound("trace on", "trace_pointed('forward')"),
        bound("back", "put_back", "put back"),
        bound("back", "unmark", "no marks"),
        bound("back", "all", "show all"),
        bound("back", "back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._marks = Marks()
        self._measured: Measured = {}
        self._measure = MEASURES[0]
        self._is_calculated = False
        self._shows_filter_error = False
        self._wanted = ""
        self._cards: dict[tuple[str, int, int], Content] = {}

    def compose_body(self) -> ComposeResult:
        """The filter, the map with its legend, and the vessel under the cursor."""
        with Horizontal(id="subject"):
            yield Steady("", id="measure", markup=False)
            yield Steady("", id="count", markup=False)
        with Horizontal(id="filter-row"):
            yield Label("Filter ")
            yield FilterBox(id="filter", compact=True, placeholder="past rum, fill 1-2, due top")
        with Container(id="racks"):
            with Vertical(id="map-side"):
                yield RackMap(id="map")
                yield Static("", id="legend", markup=False)
            yield Steady("", id="under-cursor", markup=False)

    @property
    def _words(self) -> str:
        return self.query_one("#filter", Input).value

    @property
    def pointed(self) -> str:
        """The vessel under the cursor."""
        return "" if self._map.current is None else self._map.current.tag

    def on_mount(self) -> None:
        """Begin on the map."""
        self.set_focus(self._map)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """Draw the racks at once, and what is due and expected when it is calculated."""
        self._carried = [tag for tag in self._carried if tag in cellar and not cellar[tag].is_retired]
        self._chosen = [tag for tag in self._chosen if tag in cellar and not cellar[tag].is_retired]
        self._described = describe(cellar, self._marks)
        self._measured = self._measured or measure_first(cellar, self.units)
        self._draw()
        if self._wanted and self._map.go_to(self._wanted):
            self._wanted = ""
        self.run_slow_work("due", lambda: self._calculate(cellar), self._take_calculated)

    def _calculate(self, cellar: Cellar) -> tuple[Marks, list[Described], Measured]:
        marks, described = describe_ahead(self.desk.book, cellar, self.units)
        return marks, described, measure_all(self.desk.book, cellar, marks, self.units)

    def _take_calculated(self, calculated: tuple[Marks, list[Described], Measured]) -> None:
        self._marks, self._described, self._measured = calculated
        self._is_calculated = True
        self._draw()

    def _draw(self) -> None:
        """Show what the filter keeps; while something is carried, every place."""
        words = "" if self._carried else self._words
        try:
            shown = find_vessels(self._described, words, self.units)
        except BadQuery as error:
            self._show_not_understood(error)
            words = error.understood
            shown = find_vessels(self._described, words, self.units)
        else:
            self._clear_not_understood()
        self._found = shown if words.strip() else []
        self._cards.clear()
        self._map.choose(self._chosen)
        shown_of = self._measured[self._measure.name]
        self._map.show(shown, self._marks, shown_of, gaps=not words.strip(), carried=self._carried)
        self._show_counts(shown, is_filtered=bool(words.strip()))
        self.query_one("#under-cursor").set_class(bool(self._carried), "-carrying")
        self.refresh_bindings()

    def _show_counts(self, shown: Sequence[Standing], *, is_filtered: bool) -> None:
        """Show above the map which measure is on it, and how many vessels there are, in trouble and due."""
        of, there = self._measure, sum(not seen.standing.is_retired for seen in self._described)
        count = f"{len(shown)} of {counted(there, 'vessel')}" if is_filtered else counted(there, "vessel")
        if self.size.width < _ROOM_TO_COUNT and not is_filtered:
            count = ""  # what is shown on the map matters more
        marked = f"{len(self._chosen)} marked ({CHOSEN_MARK})  " if self._chosen else ""
        self.query_one("#measure", Steady).update(
            Content.assemble((of.name, "bold"), (f"  {of.describe(self.units)}", "$quiet"))
        )
        before = f"{marked}{count}{'  ' * bool(count)}"
        self._show_count(Content.assemble(before, *self._states()))
        self._show_legend()

    def _show_count(self, words: Content) -> None:
        """Show the numbers at the right end; only what needs more room than is kept for them moves what is beside."""
        shown = self.query_one("#count", Steady)
        kept = _KEPT_FOR_COUNT if self.size.width >= _ROOM_TO_COUNT else 0
        shown.styles.min_width = max(kept, words.cell_length + shown.gutter.width)
        shown.update(words, layout=False)

    def _show_legend(self) -> None:
        of, at = self._measure, self.query_one("#legend", Static)
        limit = of.usual_limit(self.desk.cellar, self.units)
        is_any = any(each.text == UNKNOWN for each in self._measured.get(of.name, {}).values())
        unknown = f"{UNKNOWN} {of.unknown}" if is_any else ""
        at.update(legend(of.steps(self.units), limit, unknown, at.content_size.width), layout=False)

    def _states(self) -> Iterator[tuple[str, str]]:
        if not self._is_calculated:
            yield "calculating", "$quiet"
            return
        yield f"{TROUBLE} {len(self._marks.troubled)}", "bold $ember"
        yield f"  {DUE} {len(self._marks.due)} due", "$honey"

    def action_measure(self) -> None:
        """Show the next measure."""
        self._measure = after(self._measure.name)
        self._draw()

    def _show_not_understood(self, error: BadQuery) -> None:
        """Show what the filter does not understand; while a word may still be unfinished, not as a refusal."""
        self._shows_filter_error = True
        if error.unfinished:
            self.show_message(said(error, self.units))
        else:
            self.refuse(error)

    def _clear_not_understood(self) -> None:
        """Remove the message about the filter, and no other."""
        if self._shows_filter_error:
            self._shows_filter_error = False
            self.show_message("")

    def on_rack_map_moved(self, event: RackMap.Moved) -> None:
        """Describe the vessel under the cursor, or what is in hand."""
        self.query_one("#under-cursor", Static).update(self._describe_spot(event.spot))

    def _describe_spot(self, spot: Spot) -> Content:
        if self._carried:
            return titled(hand_lines(self._carried, spot, self.desk.cellar, self.units))
        match spot:
            case Standing():
                return self._about(spot)
            case FreePlace():
                return titled([place_words(spot.position)])
        return Content("Nothing matches the filter." if self._described else missing(self.desk.cellar))

    def _about(self, standing: Standing) -> Content:
        """Return the card of a vessel, made once until the racks are drawn again."""
        width = self.query_one("#under-cursor").content_size.width
        key = standing.tag, width, self.app.size.width
        if key not in self._cards:
            self._cards[key] = self._card(standing, width)
        return self._cards[key]

    def _card(self, standing: Standing, width: int) -> Content:
        if self.app.size.width < CARD_BESIDE:
            return small_card(standing, self._marks, self.units, width, is_calculated=self._is_calculated)
        return large_card(standing, self._marks, self.units, width, self._measure, is_calculated=self._is_calculated)

    def on_resize(self) -> None:
        """Describe the vessel under the cursor where there is more room for it, or less."""
        self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        self._show_legend()
        self.query_one("#under-cursor", Static).update(self._describe_spot(self._map.spot))

    def on_rack_map_taken(self, event: RackMap.Taken) -> None:
        """Open the vessel's page; or set down what is carried."""
        if self._carried and event.spot is not None:
            self._set_down(event.spot)
        elif isinstance(event.spot, Standing):
            self.open_page(event.spot.tag)

    def found(self, tag: str) -> None:
        """Put the cursor on the barrel and open its page; with a vessel in hand, only move the cursor."""
        if not (self._map.go_to(tag) and self._carried):
            self.open_page(tag)

    def registered(self, names: Sequence[str]) -> None:
        """Stand at the first of the new vessels as soon as it is drawn."""
        super().registered(names)
        self.action_all()
        self._wanted = names[0]

    # --- filtering --------------------------------------------------------------------------------------------------

    def action_filter(self) -> None:
        """Type what to look for."""
        self.query_one("#filter-row").display = True
        self.set_focus(self.query_one("#filter"))

    def action_all(self) -> None:
        """Show everything again."""
        self.query_one("#filter", Input).value = ""
        self.query_one("#filter-row").display = False
        self.set_focus(self._map)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter while it is typed."""
        if event.input.id == "filter":
            self._draw()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go to the racks that are left; what is not understood stays, with a message."""
        if event.input.id != "filter":
            return
        try:
            find_vessels(self._described[:0], self._words, self.units)
        except BadQuery as error:
            self.refuse(error)
        else:
            self.set_focus(self._map)
            if len(self._found) > 1 and not self._chosen:
                self.show_message(f"What is done now is done to all {len(self._found)}; Space marks single ones.")

    # --- what can be done --------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer to put back only what is in hand, to filter only while nothing is, to show all when not all is."""
        is_finding = isinstance(self.focused, FindBox) if self.is_mounted else False
        if action in ("form", "order", "mark", "upkeep", "unmark"):
            return self._may_act(action, *map(str, parameters))
        match action:
            case "trace_pointed":
                return self.is_mounted and bool(self.pointed) and not self._carried and not is_finding
            case "put_back":
                return bool(self._carried) and not is_finding
            case "type_place":
                return bool(self._carried)
            case "filter":
                return not self._carried
            case "all":
                is_filtered = self.is_mounted and (self._words or isinstance(self.focused, FilterBox))
                return bool(is_filtered) and not self._carried and not is_finding
        return True
