"""Keys in order: a scanner types a tag and Enter in a few milliseconds, and a hand may be ahead of the screen.

Textual puts a key into the queue of whatever is focused when it arrives, while the key before it may still be on its
way to move that focus. Here a key waits until the previous key has had its effect.
"""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable
from contextlib import suppress

from textual import events
from textual.app import App
from textual.message_pump import MessagePump

_MOST_TURNS = 6
_LONGEST_WAIT = 2.0  # seconds; past that the next key is let through


class TypedAhead:
    """Delivers keys to an app in order, each after the effects of the previous key."""

    def __init__(self, app: App[None], deliver: Callable[[events.Key], Awaitable[None]]) -> None:
        self._app = app
        self._deliver = deliver
        self._waiting: deque[events.Key] = deque()
        self._settling: asyncio.Task[None] | None = None

    async def take(self, key: events.Key) -> None:
        """Deliver a key now, or as soon as the keys before it have had their effects."""
        if self._settling is not None and not self._settling.done():
            self._waiting.append(key)
            return
        await self._deliver(key)
        self._settling = asyncio.create_task(self._settle())

    async def _settle(self) -> None:
        await self._until_quiet()
        while self._waiting:
            await self._deliver(self._waiting.popleft())
            await self._until_quiet()

    async def _until_quiet(self) -> None:
        """Wait for every queue that a key's effect passes: the focused widget, its ancestors, the app; and back.

        Over again while a dialog is opening or closing, until screen and focus stay where they are.
        """
        for turn in range(_MOST_TURNS):
            before = self._app.screen, self._app.focused
            focused = self._app.focused
            climb = list(focused.ancestors_with_self) if focused is not None else [self._app.screen, self._app]
            for node in climb:
                await _reached(node)
            if turn and before == (self._app.screen, self._app.focused):
                return


async def _reached(node: MessagePump) -> None:
    done = asyncio.Event()
    if node.call_later(done.set):
        with suppress(TimeoutError):
            await asyncio.wait_for(done.wait(), _LONGEST_WAIT)
