"""What the palette finds: one provider for places and acts, one for what has a name, one for what was written down.

Each gathers what it searches when the palette opens, in a thread where that asks the book, and hands on thirty at most.
"""

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from itertools import islice
from typing import Any, ClassVar

from textual import events
from textual.binding import ActiveBinding
from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.screen import ModalScreen, Screen
from textual.widgets import OptionList
from textual.worker import Worker

from cooperage.guide.pages import guide_pages
from cooperage.programme.search.everything import COSTED, Found, named_everything, noted_with
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import ENTERS, TABLE, key_of, key_words, words_of_key
from cooperage.tui.several.asked import several_words
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import Desk, desk_of

FORMS: tuple[tuple[str, str], ...] = (
    ("settings: your name, units, colours", "settings"),
    ("settings of the cellar: its name, loss allowance, class lines, climate, risk, walks, currency", "ask('facts')"),
    ("reports: stock, rounds, book, losses, bottlings, operations, value, angels; read and saved", "ask('report')"),
    ("cost: what a vessel's mead, a lot or a bottling has cost, a litre and a bottle", "ask('cost')"),
    ("cost of a lot, once it is known", "ask('lotcost')"),
    ("end of a lot's fermentation, with its final gravity", "ask('lotend')"),
    ("trace: what a bottling, a lot, a vessel or a hand reached, or came from", "go('recall')"),
    ("a price: of honey and other substances, bottles, closures, labels, an hour of work", "ask('price')"),
    ("import a file or a folder: vessels, lots, entries", "ask('import')"),
    ("stow bottles in a store", "ask('bottles', 'stow')"),
    ("take bottles out of stock: sold, in bond, tasted, given away, broken", "ask('bottles', 'remove')"),
    ("take bottles back", "ask('bottles', 'takeback')"),
    ("count the bottles of a store: stocktake", "ask('bottles', 'stocktake')"),
    ("pour bottles back into a vessel", "ask('bottles', 'pourback')"),
    ("register a vessel, or several", "ask('vessel')"),
    ("register a lot", "ask('lot')"),
    ("honey that came in: how much, whose, moisture, price", "ask('honey')"),
    ("batch sheet of a lot: water, honey, juice, yeast; the gravity it makes", "ask('batch')"),
    ("define ready: what is ripe, when to pull, limits of taste and figures", "ask('ready')"),
)
"""What every screen can open without a key: its words, and the action of the app."""

MOST_HITS, _MOST_FIRST = 30, 60
PAUSE_S = 0.2
"""Seconds that the typing rests before the book is asked; what has a name stands first by then."""
_LOOK_AGAIN_S = 0.02
FEWEST_LETTERS = 2
"""Notes are searched from so many letters on: a single letter is in nearly all of them."""


@dataclass(frozen=True, slots=True)
class Offered:
    """A line of the palette: its kind, its words, the key that does the same, and what choosing it does."""

    kind: str
    words: str
    key: str
    does: Callable[[], Any]

    @property
    def line(self) -> str:
        """The line as it is shown and searched."""
        return f"{self.kind:<9} {self.words}{f'   {self.key}' if self.key else ''}"


class Gathered(Provider):
    """A provider of lines that are gathered once, when the palette opens."""

    IS_FIRST: ClassVar = False
    """Whether its lines stand there before anything is typed: one kind, for which of two came first is chance."""

    _offered: tuple[Offered, ...] = ()

    @property
    def desk(self) -> Desk:
        """The book and the cellar."""
        return desk_of(self.app)

    def gather(self) -> Iterable[Offered]:
        """Gather the lines; called in a thread."""
        return ()

    async def startup(self) -> None:
        """Gather the lines before the first search."""
        self._offered = tuple(await asyncio.to_thread(lambda: tuple(self.gather())))

    async def search(self, query: str) -> Hits:
        """Yield the best lines that match what is typed."""
        matcher = self.matcher(query)
        scored = ((_better(query, each, matcher.match(each.line)), each) for each in self._offered)
        best = sorted((pair for pair in scored if pair[0] > 0), key=lambda pair: -pair[0])
        for score, each in best[:MOST_HITS]:
            yield Hit(score, matcher.highlight(each.line), each.does, text=each.line)

    async def discover(self) -> Hits:
        """Yield the first lines before anything is typed."""
        for each in islice(self._offered, _MOST_FIRST if self.IS_FIRST else 0):
            yield DiscoveryHit(each.line, each.does)


def _better(query: str, offered: Offered, score: float) -> float:
    """Put what has the very letters before what has them spread over its words, and acts before pages to read.

    A place whose first word is typed comes before whatever else has it: flights bear the names of trials.
    """
    typed = query.strip().casefold()
    better = score + (1.0 if query.casefold() in offered.line.casefold() else 0.0)
    if offered.kind == "place" and len(typed) > 2 and offered.words.casefold().startswith(typed):
        return 1.5 * better
    return better / 2 if offered.kind == "guide" else better


class Acts(Gathered):
    """What can be done on the screen as it stands, each with its key, and the places."""

    IS_FIRST: ClassVar = True

    def gather(self) -> Iterable[Offered]:
        """List the acts of the screen under the palette first, then the places."""
        for active in acts_on(self.screen):
            binding = active.binding
            does = partial(self.app.run_action, binding.action, active.node)
            yield Offered("act", words_of_key(binding), key_words(binding.key), does)
        if not isinstance(self.screen, ModalScreen):  # one form at a time
            yield from self._forms()
        for page in self.desk.pages:
            means = TABLE[page.name].means if page.name in TABLE else page.about
            does = partial(self.app.run_action, f"go('{page.name}')")
            yield Offered("place", means, key_words(page.key) if page.key else "", does)

    def _forms(self) -> Iterable[Offered]:
        for words, kind in several_words():
            yield Offered("form", words, "", partial(self.app.run_action, f"several({kind!r})"))
        for words, action in FORMS:
            yield Offered("form", words, "", partial(self.app.run_action, action))


def acts_on(screen: Screen[Any]) -> list[ActiveBinding]:
    """List what can be done on a screen, but for keys that only move the cursor and for going places."""
    found: dict[str, ActiveBinding] = {}
    for active in screen.active_bindings.values():
        key = key_of(active.binding)
        is_act = key is not None and (key.group in ("act", "always") or key.word == "find")
        if is_act and active.enabled and active.binding.id not in ("all", "enter"):
            found.setdefault(f"{active.binding.id} {active.binding.action}", active)
    return list(found.values())


class Named(Gathered):
    """Vessels, lots, bottlings, flights, and the words of looks."""

    def gather(self) -> Iterable[Offered]:
        """List all that has a name."""
        for found in named_everything(self.desk.book, self.desk.cellar, self.desk.units):
            yield offered(self.desk, found)


class Things(Named):
    """All that has a name, where no acts are sought."""

    IS_FIRST: ClassVar = True


_ASKED: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("trace", "trace({name!r})", COSTED),
    ("cost", "ask('cost', {name!r})", COSTED),
    ("label", "ask('label', {name!r})", COSTED),
)
"""What is asked of a thing by a word before its name: the word, the action of the app, and of which kinds."""


class AskedOf(Gathered):
    """What is asked of a thing by its name: "trace SALT-25", "cost B-001"; and "trace" with who did it."""

    _named: tuple[Found, ...] = ()
    _hands: tuple[str, ...] = ()

    async def startup(self) -> None:
        """Gather the names before the first search."""
        self._named, self._hands = await asyncio.to_thread(self._all_named)

    def _all_named(self) -> tuple[tuple[Found, ...], tuple[str, ...]]:
        desk = self.desk
        return tuple(named_everything(desk.book, desk.cellar, desk.units)), tuple(desk.hands())

    async def search(self, query: str) -> Hits:
        """Yield what is asked by the first word typed, of what has the rest in its name, the whole name first."""
        word, _, rest = query.strip().partition(" ")
        sought = rest.strip().casefold()
        for asked, action, kinds in _ASKED:
            if len(word) < _LEAST_OF_WORD or not asked.startswith(word.casefold()) or not sought:
                continue
            for nth, (name, words, action_of) in enumerate(self._meant(asked, action, kinds, sought)):
                line = Offered(asked, f"{name:<8} {words}", "", partial(self.app.run_action, action_of)).line
                yield Hit(_ASKED_FIRST - nth / 100, line, partial(self.app.run_action, action_of), text=line)

    def _meant(self, asked: str, action: str, kinds: tuple[str, ...], sought: str) -> list[tuple[str, str, str]]:
        """Return at most so many lines: name, words, action."""
        found = [
            each for each in self._named if each.kind in kinds and sought in f"{each.name} {each.words}".casefold()
        ]
        found.sort(key=lambda each: (each.name.casefold() != sought, not each.name.casefold().startswith(sought)))
        lines = [(each.name, f"{each.kind}  {each.words}", action.format(name=each.name)) for each in found]
        if asked == "trace":
            hands = (hand for hand in self._hands if sought in hand.casefold())
            lines += [(hand, "all that was done by this hand", f"trace('', '', {hand!r})") for hand in hands]
        return lines[:MOST_HITS]


_LEAST_OF_WORD, _ASKED_FIRST = 3, 3.0
"""Letters of the word from which it is meant; the score of its first line, before all others."""


class Guided(Gathered):
    """The pages of the guide and their sections."""

    def gather(self) -> Iterable[Offered]:
        """List every page, then what stands on it."""
        for page in guide_pages():
            yield Offered("guide", page.title, "", partial(self.app.run_action, f"guide({page.topic!r})"))
            for section in page.sections:
                does = partial(self.app.run_action, f"guide({page.topic!r}, {section!r})")
                yield Offered("guide", f"{page.title}: {section}", "", does)


class Noted(Provider):
    """Entries by the words of their notes and looks: the book is asked at each search."""

    async def search(self, query: str) -> Hits:
        """Yield the newest entries that have these words."""
        desk = desk_of(self.app)
        await asyncio.sleep(PAUSE_S)
        if len(query.strip()) < FEWEST_LETTERS:
            return
        found = await asyncio.to_thread(noted_with, desk.book, query, desk.units)
        for nth, each in enumerate(found[:MOST_HITS]):
            line = offered(desk, each)
            yield Hit(0.5 - nth / 100, line.line, line.does, text=line.line)


class Unregistered(Provider):
    """A tag that no vessel has, to be registered: the last line of all."""

    async def search(self, query: str) -> Hits:
        """Yield the tag if it has the shape of one and is not in the book."""
        desk, tag = desk_of(self.app), query.strip()
        if isinstance(self.screen, ModalScreen):
            return
        if tag and tag not in desk.cellar and await asyncio.to_thread(_is_free, desk, tag):
            does = partial(self.app.run_action, f"ask('vessel', {tag!r})")
            line = Offered("form", f"register {tag}", "", does).line
            yield Hit(_LAST, line, does, text=line)


_LAST = 0.001


def _is_free(desk: Desk, tag: str) -> bool:
    return desk.is_like_a_tag(tag) and desk.page_of(tag) is None


def offered(desk: Desk, found: Found) -> Offered:
    """Return the line of something that was found; choosing it goes there."""
    name = "" if found.kind == "entry" else f"{found.name:<8} "
    return Offered(found.kind, f"{name}{found.words}", "", lambda: desk.go_to_found(found))


class Palette(CommandPalette):
    """The palette over everything, or over things alone."""

    EVERYTHING: ClassVar = (Acts, Named, AskedOf, Guided, Noted, Unregistered)
    THINGS: ClassVar = (Things, Noted, Unregistered)

    def __init__(self, *, with_acts: bool) -> None:
        asks = "an act, a place, a tag, a lot, a bottling, words of a note"
        super().__init__(
            self.EVERYTHING if with_acts else self.THINGS,
            placeholder=asks if with_acts else asks.removeprefix("an act, a place, "),
        )

    def on_key(self, event: events.Key) -> None:
        """Let Enter wait for what is being sought: it means the best line for what is typed, not for what was."""
        if event.key in ENTERS and any(worker.is_running for worker in self._seeking):
            event.stop()
            event.prevent_default()
            self.run_worker(self._take_what_is_found(), group="take", exclusive=True)

    @property
    def _seeking(self) -> list[Worker[Any]]:
        return [worker for worker in self.workers if worker.group == self._GATHER_COMMANDS_GROUP]

    async def _take_what_is_found(self) -> None:
        while any(worker.is_running for worker in self._seeking):
            await asyncio.sleep(_LOOK_AGAIN_S)
        found = self.query_one(OptionList)
        if found.option_count:
            found.highlighted = found.highlighted or 0
            found.action_select()

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Close, and let the screen below take a scanned tag."""
        below = self.app.screen_stack[-2]
        if not isinstance(below, CellarScreen) or not desk_of(self.app).is_like_a_tag(text):
            return Scanned.LEFT
        self.dismiss()
        return below.take_scan(text, stood)
