"""Keys in order: a scanner types a tag and Enter in a few milliseconds, and a hand may be ahead of the screen.

Textual puts a key into the queue of whatever is focused when it arrives, while the key before it may still be on its
way to move that focus. Here a key waits until the previous key has had its effect.

Keys that follow each other faster than any hand are a scan. Where letters act, none acts until the burst has ended;
where a box has the focus, the scan is lifted out of what was half typed there when its Enter comes.
"""

import asyncio
import time
from collections import deque
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from enum import Enum
from typing import Protocol, runtime_checkable

from textual import events
from textual.app import App
from textual.message import Message
from textual.message_pump import MessagePump
from textual.screen import ModalScreen
from textual.widgets import Input

from cooperage.tui.keys import ENTERS

_MOST_TURNS = 6
_LONGEST_WAIT = 2.0  # seconds; past that the next key is let through
SCAN_GAP_S = 0.03
"""Keys closer to each other than this are a scanner's: the quickest hand leaves twice as long between two keys."""
FEWEST_SCANNED = 4
_ENDS = (*ENTERS, "tab")


async def scanner_pause() -> None:
    """Wait for as long as a scanner leaves between two keys at most."""
    await asyncio.sleep(SCAN_GAP_S)


class Scanned(Enum):
    """What became of a scan: something was found, it was refused where it stands, or it is left to the keys."""

    TAKEN = "taken"
    REFUSED = "refused"
    LEFT = "left"


@runtime_checkable
class TakesScans(Protocol):
    """A screen or dialog that knows what to do with a scan, or an app for those of its dialogs that do not."""

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Take what was scanned; `stood` is what stood in the focused box before it, None without one."""


@dataclass(slots=True)
class _Burst:
    """The keys that came faster than a hand types, and when the last came [s]."""

    last: float = float("-inf")
    letters: list[str] = field(default_factory=list)
    has_ended: bool = False
    began_in: tuple[Input, str] | None = None
    """The box that had the focus when the burst began, and what stood in it; its first letter may replace that."""

    def add(self, key: events.Key) -> None:
        """Count one more key; a pause before it begins another burst."""
        if not self.goes_on_with(key):
            self.letters = []
        self.last, self.has_ended = key.time, False
        if key.character is not None and key.character.isprintable():
            self.letters.append(key.character)

    def goes_on_with(self, key: events.Key) -> bool:
        """Return True if a key came at a scanner's pace."""
        return key.time - self.last < SCAN_GAP_S

    def end(self) -> None:
        """Let the next letter begin another burst."""
        self.letters, self.has_ended = [], True

    @property
    def text(self) -> str:
        """What a scanner has typed so far; empty while it may still be a hand."""
        return "".join(self.letters) if len(self.letters) >= FEWEST_SCANNED else ""


class TypedAhead:
    """Delivers keys to an app in order, each after the effects of the previous key.

    What a scanner typed goes to the screen if that takes scans; what it leaves is delivered key by key.
    """

    def __init__(self, app: App[None], deliver: Callable[[events.Key], Awaitable[bool]]) -> None:
        self._app = app
        self._deliver = deliver
        self._waiting: deque[events.Key] = deque()
        self._settling: asyncio.Task[None] | None = None
        self._burst = _Burst()
        self.last_key = float("-inf")

    async def take(self, key: events.Key) -> None:
        """Deliver a key now, or as soon as the keys before it have had their effects."""
        self.last_key = time.monotonic()
        self._waiting.append(key)
        if self._settling is None or self._settling.done():
            self._settling = asyncio.create_task(self._settle())

    async def _settle(self) -> None:
        while self._waiting:
            is_taken = self._may_act(self._waiting[0]) and await self._took_scan_ahead()
            with self._app.batch_update():  # whatever a key changes is drawn at once, and laid out once at most
                has_acted = not is_taken and await self._one(self._waiting.popleft())
                await self._until_quiet(has_acted=has_acted)
            self._app.screen.check_idle()  # the end of a batch alone wakes the app, and not the screen that draws

    # --- scans ------------------------------------------------------------------------------------------------------

    def _may_act(self, key: events.Key) -> bool:
        """Return True if a letter would act at once: it waits to see whether a scan begins with it.

        On a page capitals and figures begin a tag in the line; in a dialog without a box, none does.
        """
        focused, character = self._app.focused, key.character or ""
        is_typed = focused is not None and focused.check_consume_key(key.key, character)
        acts = character.islower() or (character.isprintable() and isinstance(self._app.screen, ModalScreen))
        begins = self._burst.has_ended or not self._burst.goes_on_with(key)
        return SCAN_GAP_S > 0 and bool(character) and acts and not is_typed and begins

    async def _took_scan_ahead(self) -> bool:
        """Wait for the end of the burst that the first waiting key begins; take it if it is a scan with its Enter."""
        known = 0
        while len(self._waiting) > known:
            known = len(self._waiting)
            await scanner_pause()
        burst = _Burst()
        for nth, key in enumerate(self._waiting):
            if nth and not burst.goes_on_with(key):
                return False
            if key.key in _ENDS:
                if not burst.text or self._scanned(burst.text, None) is Scanned.LEFT:
                    return False
                for _ in range(nth + 1):
                    self._waiting.popleft()
                self._burst.last = key.time
                self._burst.end()
                return True
            burst.add(key)
        return False

    async def _one(self, key: events.Key) -> bool:
        """Deliver one key; the Enter at the end of a scan into a box goes where the scan leads, and nowhere else.

        Return True if the key has acted already.
        """
        is_end = key.key in _ENDS
        if is_end and self._burst.has_ended and self._burst.goes_on_with(key):
            return False  # some scanners end with two: carriage return and line feed
        text = self._burst.text if is_end and self._burst.goes_on_with(key) else ""
        if not (self._burst.letters and self._burst.goes_on_with(key)):
            box = self._app.focused
            self._burst.began_in = (box, box.value) if isinstance(box, Input) else None
        self._burst.add(key)
        if text:
            self._burst.end()
            if self._lifted(text):
                return False
        return await self._deliver(key)

    def _lifted(self, text: str) -> bool:
        """Lift a scan out of the box that has the focus, if the screen takes it; return True if it does."""
        box = self._app.focused
        if not isinstance(box, Input):
            return self._scanned(text, None) is not Scanned.LEFT
        end = box.cursor_position
        before, after = box.value[:end], box.value[end:]
        if not before.endswith(text):
            return False
        stood = before.removesuffix(text) + after
        if self._burst.began_in is not None and self._burst.began_in[0] is box:
            stood = self._burst.began_in[1]
        box.value, box.cursor_position = stood, min(end - len(text), len(stood))
        if self._scanned(text, stood) is not Scanned.LEFT:
            return True
        box.value, box.cursor_position = before + after, end
        return False

    def _scanned(self, text: str, stood: str | None) -> Scanned:
        screen = self._app.screen
        taker = screen if isinstance(screen, TakesScans) else self._app
        return taker.take_scan(text, stood) if isinstance(taker, TakesScans) else Scanned.LEFT

    async def _until_quiet(self, *, has_acted: bool) -> None:
        """Wait for every queue that a key's effect passes: the focused widget, its ancestors, the app; and back.

        Over again while a dialog is opening or closing, until screen and focus stay where they are; for a key that is
        still on its way (not `has_acted`) twice at least.
        """
        for turn in range(_MOST_TURNS):
            before = self._app.screen, self._app.focused
            focused = self._app.focused
            climb = list(focused.ancestors_with_self) if focused is not None else [self._app.screen, self._app]
            with suppress(TimeoutError):
                async with asyncio.timeout(_LONGEST_WAIT):
                    await _reached(climb)
            if (turn or has_acted) and before == (self._app.screen, self._app.focused):
                return


class _Passing(Message, bubble=False, no_dispatch=None):
    """Comes through a queue and goes to no handler: to seek the handlers of a message takes most of its time."""

    def __init__(self) -> None:
        super().__init__()
        self.come = asyncio.Event()

    @property
    def no_dispatch(self) -> bool:  # type: ignore[override] # asked when its turn has come
        """Whether it is kept from every handler."""
        self.come.set()
        return True


async def _reached(climb: Sequence[MessagePump]) -> None:
    """Wait until each queue in turn has come to what was put into it now."""
    for node in climb:
        passing = _Passing()
        if node.post_message(passing):
            await passing.come.wait()
