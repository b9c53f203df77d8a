"""Screens made ready while no key comes, so that the first visit of each is as quick as the next.

Its module is imported in a thread and its widgets are mounted; what it shows is calculated only when it comes up.
"""

import asyncio
import time
from collections.abc import Callable, Iterable

from textual.app import App

from cooperage.tui.drawing import lay_out_at_rest
from cooperage.tui.shared.desk import Page

REST_S = 0.8
"""Seconds without a key after which a screen is made ready: to make one takes less than a hand's next key."""
_LOOK_AGAIN_S = 0.25


async def prepare(app: App[None], pages: Iterable[Page], last_key: Callable[[], float]) -> None:
    """Make screens ready one after the other; `last_key` is when the last key came [s, monotonic]."""
    for page in pages:
        await asyncio.to_thread(page.load)
        while time.monotonic() - last_key() < REST_S:
            await asyncio.sleep(_LOOK_AGAIN_S)
        if page.name not in app._screen_stacks:
            screen, mounted = app._get_screen(page.name)
            await mounted
            lay_out_at_rest(screen, app)
