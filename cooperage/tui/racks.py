"""Racks: the cellar as it stands, to walk with the arrows."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Input, Label, Static

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.losses import loss_rates
from cooperage.programme.rounds import Due, next_due
from cooperage.programme.upkeep import upkeep_of
from cooperage.tui.gauges import about_lines, fill_words, place_words, titled
from cooperage.tui.racks_map import RackMap
from cooperage.tui.screen import CellarScreen
from cooperage.units import Units

DUE_MARK = "!"


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is due by tag, what barrels are expected to be short of full by now [ml], and which are low."""

    due: dict[str, list[Due]] = field(default_factory=dict)
    short: dict[str, int] = field(default_factory=dict)
    low: set[str] = field(default_factory=set)


class RacksScreen(CellarScreen):
    """The cellar as it stands: each vessel's tag, level, litres short of full by now, and ! when something is due."""

    NAME = "racks"
    CSS_PATH = "racks.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f", "filter", "filter"),
        Binding("escape", "all", "show all", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._outlook = Outlook()

    def compose_body(self) -> ComposeResult:
        """The filter, the map, and the vessel under the cursor."""
        with Horizontal(id="filter-row"):
            yield Label("Filter ")
            yield Input(id="filter", compact=True, placeholder="lot, wood, past life, due, low, empty")
            yield Label("", id="count", markup=False)
        yield RackMap(self.units, id="map")
        yield Static("", id="under-cursor", markup=False)

    def on_mount(self) -> None:
        """Begin on the map."""
        self.set_focus(self.query_one(RackMap))

    def show_cellar(self, cellar: Cellar) -> None:
        """Draw the racks at once, and what is due and expected when it is reckoned."""
        self._draw()
        self.reckon("due", lambda: outlook(self.desk.book, cellar, self.units), self._take_outlook)

    def _take_outlook(self, reckoned: Outlook) -> None:
        self._outlook = reckoned
        self._draw()

    def _draw(self) -> None:
        words, outlook = self.query_one("#filter", Input).value, self._outlook
        there = [s for s in self.desk.cellar.in_walking_order() if not s.is_retired]
        shown = matching(there, words, outlook)
        self.query_one(RackMap).show(shown, dict.fromkeys(outlook.due, DUE_MARK), outlook.short)
        told = f"{len(shown)} of {len(there)} vessels" if words.strip() else f"{len(there)} vessels"
        self.query_one("#count", Label).update(f"{told}, {len(outlook.due)} with something due ({DUE_MARK})")

    def on_rack_map_moved(self, event: RackMap.Moved) -> None:
        """Tell about the vessel under the cursor."""
        told = "nothing matches the filter" if event.standing is None else self._about(event.standing)
        self.query_one("#under-cursor", Static).update(told)

    def _about(self, standing: Standing) -> Content:
        due = "; ".join(f"{each.task}: {each.why}" for each in self._outlook.due.get(standing.tag, ()))
        return titled((*about_lines(standing, self.units), f"Due: {due or 'nothing'}"))

    def on_rack_map_taken(self, event: RackMap.Taken) -> None:
        """Open the vessel's page."""
        if event.standing is not None:
            self.open_page(event.standing.tag)

    def found(self, tag: str) -> None:
        """Stand on the barrel, so that coming back finds it, and open its page."""
        self.query_one(RackMap).go_to(tag)
        self.open_page(tag)

    def action_filter(self) -> None:
        """Type what to look for."""
        self.set_focus(self.query_one("#filter"))

    def action_all(self) -> None:
        """Show everything again."""
        self.query_one("#filter", Input).value = ""
        self.set_focus(self.query_one(RackMap))
        self.action_leave_find()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter while it is typed."""
        if event.input.id == "filter":
            self._draw()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go back to the racks that are left."""
        if event.input.id == "filter":
            self.set_focus(self.query_one(RackMap))


def outlook(book: Book, cellar: Cellar, units: Units) -> Outlook:
    """Reckon what is due and what each barrel is expected to be short of full by now."""
    rates = {tag: rate.ml_per_day for tag, rate in loss_rates(book, cellar).items()}
    due: dict[str, list[Due]] = {}
    short: dict[str, int] = {}
    for standing in cellar.barrels:
        for each in next_due(standing, rates=rates, units=units):
            if each.expected_ml is not None:
                short[standing.tag] = each.expected_ml
            if each.due <= cellar.at:
                due.setdefault(standing.tag, []).append(each)
    low = {tag for tag, ml in short.items() if ml > (upkeep_of(cellar[tag]).top_below_ml or 0)}
    return Outlook(due, short, low)


def matching(standings: Sequence[Standing], words: str, outlook: Outlook) -> list[Standing]:
    """Keep the vessels that match every word: of tag, lots, wood, past, room, fill, or due, low, empty."""
    wanted = words.casefold().split()
    if not wanted:
        return list(standings)
    return [s for s in standings if all(word in _said_of(s, outlook) for word in wanted)]


def _said_of(standing: Standing, outlook: Outlook) -> str:
    barrel = standing.vessel.barrel
    parts = [standing.tag, standing.vessel.kind, *standing.lots, place_words(standing.position), fill_words(standing)]
    if barrel is not None:
        parts += [str(part) for part in (barrel.wood, barrel.forest, barrel.past_life, barrel.past_kind, barrel.cooper)]
    parts += ["due"] * (standing.tag in outlook.due) + ["low"] * (standing.tag in outlook.low)
    parts += ["empty"] * (standing.ml == 0)
    return " ".join(parts).casefold()
