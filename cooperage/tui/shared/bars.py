"""The frame around every screen: the bar of screens, the status line, the find box, the bar of keys."""

from dataclasses import dataclass
from typing import Any, ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from textual.binding import ActiveBinding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive, reactive
from textual.screen import Screen
from textual.strip import Strip
from textual.timer import Timer
from textual.widgets import Input, Static
from textual.widgets.input import Selection

from cooperage.errors import CooperageError
from cooperage.tui.keys import TABLE, Group, bound, key_of, key_words
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.ink import HEADING, KEY, ink
from cooperage.tui.shared.steady import Steady

_GAP, _RULE = "  ", " │ "
_GROUPS: tuple[Group, ...] = ("act", "go", "always")


class KeyBar(Static):
    """The keys that work right now, in one row: acts, ways to go, what works always; a click presses a key.

    What does not fit is left to the list of keys, the last acts first.
    """

    auto_links = False
    """Keys keep their own colours, clicked or not."""
    _shown: tuple[object, ...] = ()
    _is_due = False

    def on_mount(self) -> None:
        """Follow every change of focus and of what is possible."""
        self.screen.bindings_updated_signal.subscribe(self, self._bindings_changed)
        self.call_after_refresh(self._show)

    def _bindings_changed(self, _screen: Screen[Any]) -> None:
        self._show_soon()

    def on_resize(self) -> None:
        """Fill the row again."""
        self._show_soon()

    def _show_soon(self) -> None:
        """Show them once, however much changes at once: to ask what every key does takes as long as to draw a key."""
        if not self._is_due:
            self._is_due = True
            self.call_later(self._show)

    def _show(self) -> None:
        self._is_due = False
        if not self.is_attached:
            return
        active, width = active_keys(self.screen), self.scrollable_content_region.width or 78
        shown = (width, *((each.binding.key, each.binding.description) for each in active))
        if shown != self._shown:
            self._shown = shown
            self.update(_row(active, width), layout=self.styles.width is not None and self.styles.width.is_auto)


def active_keys(screen: Screen[Any], *, with_cursor: bool = False) -> list[ActiveBinding]:
    """List what the keys of the table do on a screen right now, each once: Enter, the screen's own, the list's.

    What is not offered is left out, and so is what the focused box would take for text; with the keys of the cursor
    only if asked.
    """
    found: dict[str, ActiveBinding] = {}
    for active in screen.active_bindings.values():
        key = key_of(active.binding)
        is_wanted = active.binding.show or (with_cursor and key is not None)
        if is_wanted and active.enabled and not _is_typed(screen, active.binding.key):
            found.setdefault(f"{active.binding.id} {active.binding.action}", active)
    return sorted(found.values(), key=_place)


def _place(active: ActiveBinding) -> tuple[bool, bool]:
    return active.binding.id not in _FOREMOST, not isinstance(active.node, Screen)


def _is_typed(screen: Screen[Any], key: str) -> bool:
    """Return True if the focused box takes this key for text; a key of the cursor is none, though written as a sign."""
    if key in _ARROWS:
        return False
    character = " " if key == "space" else key_words(key)
    focused = screen.focused
    return len(character) == 1 and focused is not None and focused.check_consume_key(key, character)


_ARROWS = frozenset(TABLE[word].key for word in ("up", "down", "left", "right"))
_FOREMOST = ("enter", "yes")
_FIRST_KEPT, _LAST_KEPT = ("keys", "guide", "enter", "write", "back", "all", "find"), ("strike last",)
"""What keeps its place on the bar before any other act, and what comes only after them."""


def _row(shown: list[ActiveBinding], width: int) -> Content:
    """Set keys in one row of `width` by their groups; what finds no room is left to the list of keys."""
    has_list = any(each.binding.id == "keys" for each in shown)
    shown = [each for each in shown if each.binding.id != "guide" or not has_list]
    kept: list[ActiveBinding] = []
    for each in sorted(shown, key=_keeps_its_place):
        if _width([*kept, each]) <= width:
            kept.append(each)
    groups = ([_key(each) for each in shown if each in kept and _group(each) == group] for group in _GROUPS)
    return Content(_RULE).join([Content(_GAP).join(group) for group in groups if group])


def _width(kept: list[ActiveBinding]) -> int:
    """Return how many columns keys take in their groups; without drawing them, which takes a hundred times as long."""
    groups = len({_group(each) for each in kept})
    words = sum(cell_len(f"{key_words(each.binding.key)} {each.binding.description}") for each in kept)
    return words + len(_GAP) * (len(kept) - groups) + len(_RULE) * max(0, groups - 1)


def _keeps_its_place(active: ActiveBinding) -> int:
    word = active.binding.id or ""
    if word in _FIRST_KEPT:
        return _FIRST_KEPT.index(word)
    return len(_FIRST_KEPT) + (word in _LAST_KEPT)


def _group(active: ActiveBinding) -> Group:
    key = key_of(active.binding)
    return "act" if key is None or key.group == "cursor" else key.group


def _key(active: ActiveBinding) -> Content:
    key = active.binding.key
    return Content.assemble((f"{key_words(key)} ", KEY), active.binding.description).stylize(
        f"@click=app.press('{key}')"
    )


_SHORTEST_HAND = 5
_NOBODY, _NOBODY_IN_FULL = "who?", f"{key_words(TABLE['who'].key)}: who is at work?"
"""What stands where no name is set, and where there is room how to mend that."""


class TopBar(Static):
    """The screens and their keys, the current screen in bold capitals; at the right end, who is at work."""

    auto_links = False

    def __init__(self, pages: tuple[tuple[str, str], ...], current: str) -> None:
        super().__init__(id="top-bar")
        self._pages, self._current = pages, current
        self._hand = ""

    def show_hand(self, hand: str) -> None:
        """Show who is at work."""
        self._hand = hand
        self._show()

    def on_resize(self) -> None:
        """Keep the hand at the right end."""
        self._show()

    def _show(self) -> None:
        width = self.content_size.width or 78
        pages = Content(" ").join([self._page(key, name) for key, name in self._pages])
        if pages.cell_length + _SHORTEST_HAND > width:  # then the list of keys has the others
            here = [(key, name) for key, name in self._pages if name == self._current] or [("", self._current)]
            pages = Content(" ").join([self._page(key, name) for key, name in here])
        room = max(0, width - pages.cell_length - 1)
        hand = Content(self._hand) if self._hand else Content.styled(_asked_who(room), "$honey")
        hand = hand.truncate(room, ellipsis=True)
        gap = max(1, width - pages.cell_length - hand.cell_length)
        bar = Content.assemble(pages, " " * gap, hand.stylize("@click=app.who"))
        if bar != self.content:
            self.update(bar, layout=False)

    def _page(self, key: str, name: str) -> Content:
        is_here = name == self._current
        words = f"{key.upper()} {name.upper() if is_here else name}".strip()
        return Content.styled(words, HEADING if is_here else "").stylize(f"@click=app.press('{key}')")


def _asked_who(room: int) -> str:
    return _NOBODY_IN_FULL if len(_NOBODY_IN_FULL) <= room else _NOBODY


class StatusLine(Steady):
    """The line of a screen that shows what was written, or what was refused and why."""

    def __init__(self) -> None:
        super().__init__("", id="status", markup=False)

    def show_message(self, words: str) -> None:
        """Show a message."""
        self.set_class(False, "refused")
        self.update(words)

    def refuse(self, error: CooperageError, words: str) -> None:
        """Show what was not done and why; the word comes first, since colour alone is not enough."""
        self.set_class(True, "refused")
        before = "Refused" if error.exit_status == 1 else "Not understood"
        self.update(f"{before}: {on_screen(words)}")


class BusyBar(Static):
    """A mark that moves during slow work, and how to stop that; shown only when it takes more than a moment."""

    DEFAULT_CSS = "BusyBar { height: 1; padding: 0 1; display: none; }"
    _STEP_S, _TRACK = 0.15, 24

    _moves: Timer | None = None
    _at = 0

    def show_working(self, is_working: bool) -> None:
        """Show that work goes on, or hide the bar; nothing runs while it is hidden, and to show it is one layout."""
        if self.display == is_working:
            return
        self.display = is_working
        self._moves = self._moves or self.set_interval(self._STEP_S, self._move)
        self._moves.resume() if is_working else self._moves.pause()
        self._move()

    def _move(self) -> None:
        self._at = (self._at + 1) % self._TRACK
        track = "━" * self._at + " " * min(2, self._TRACK - self._at)
        self.update(f"Calculating {track:━<{self._TRACK}} Esc to cancel", layout=False)


class FindBox(Input):
    """The line for a typed or scanned tag; it takes the focus with the first letter of one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "find", "go there"),
        bound("yes", "register", "register", priority=True),
    ]
    HEARS_LETTERS_ALONE: ClassVar = True
    virtual_size = Reactive(Size(0, 0), layout=False)  # what is typed never changes the room the box takes
    near = reactive("")
    """Tags that have what is typed, shown at the right end."""

    @dataclass
    class Typed(Message):
        """Enter was pressed on this tag."""

        tag: str

    @dataclass
    class Unregistered(Message):
        """A tag that no vessel has is to be registered."""

        tag: str

    def __init__(
        self, id: str = "find-box", placeholder: str = "type or scan a tag, lot or bottling to go to it"
    ) -> None:
        super().__init__(id=id, compact=True, placeholder=placeholder)
        self.can_focus = False
        self.cursor_blink = False  # to blink draws the line twice a second
        self._refused = ""

    def render_line(self, y: int) -> Strip:
        """Draw what is typed, and what is near it as far as that leaves room."""
        strip, room = super().render_line(y), self.scrollable_content_region.width - cell_len(self.near) - len(_GAP)
        if not self.near or y or cell_len(self.value) >= room:
            return strip
        near = Strip([Segment(_GAP + self.near, ink(self.app, "quiet"))]).apply_style(self.rich_style)
        return Strip.join([strip.crop(0, room).extend_cell_length(room, self.rich_style), near])

    def action_find(self) -> None:
        """Post the tag."""
        self.post_message(self.Typed(self.value))

    def select_all_typed(self) -> None:
        """Select what was refused, so that the next scan takes its place."""
        self.selection = Selection(0, len(self.value))
        self._refused = self.value
        self.refresh_bindings()

    @property
    def is_refused(self) -> bool:
        """Return True if what stands here was refused, and nothing else was typed since."""
        return bool(self._refused) and self.value == self._refused

    def action_register(self) -> None:
        """Post the tag that no vessel has."""
        self.post_message(self.Unregistered(self.value.strip()))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """What was refused may be registered."""
        return action != "register" or (self.has_focus and self.is_refused)

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Take every letter, but for the key that registers what was refused."""
        is_answer = key == TABLE["yes"].key or character == "+"
        return not (is_answer and self.is_refused) and super().check_consume_key(key, character)
