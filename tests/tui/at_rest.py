"""Whether an app has come to rest, asked of its queues and its event loop.

Textual's pilot looks at how much of a core the process takes, over and over, and sends a message through every widget:
together they take longer than what most keys do.
"""

import asyncio
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest
from textual._context import active_app
from textual.app import App, ScreenStackError
from textual.message_pump import MessagePump
from textual.pilot import Pilot

LONGEST_S = 10.0
A_LOOK_S = 0.005
IDLE_S = 0.00025
"""Whoever takes less of a core between two looks waits for something else."""

_THREADS = Path("/proc/self/task")


def _may_run(loop: Any) -> bool:
    """Whether anything could run now, or is due."""
    return bool(loop._ready) or bool(loop._scheduled and loop._scheduled[0]._when <= loop.time())


def _is_in_hand(pump: MessagePump) -> bool:
    """Whether a pump has messages, or is busy with one: else it waits for the next."""
    queue: Any = pump._message_queue
    return pump.is_running and (bool(queue.values) or not queue.ready_event._waiters)


def _pumps(app: App[Any]) -> Iterator[MessagePump]:
    yield app
    try:
        yield from app.screen.walk_children(with_self=True)
    except ScreenStackError:
        return


def _drew(app: App[Any]) -> bool:
    """Draw what is to be drawn, without waiting for the next frame; return whether there was anything."""
    try:
        screen = app.screen
    except ScreenStackError:
        return False
    wanted = screen._dirty_widgets or screen._layout_required or screen._repaint_required or screen._callbacks
    if not wanted or app._batch_count:
        return False
    screen._on_timer_update()
    return True


def _wants_a_core() -> bool:
    """Whether another thread of this process runs, or would if the machine let it; never, where /proc is not there."""
    own = str(threading.get_native_id())
    with suppress(OSError):
        for thread in _THREADS.iterdir():
            if thread.name != own and (thread / "stat").read_text().rpartition(")")[2].split()[0] in "RD":
                return True
    return False


async def _until_no_core_is_taken(end: float) -> None:
    """Wait until what is calculated beside the screen has ended, or waits itself for another process."""
    is_busy = True
    while is_busy and time.monotonic() < end:
        before = time.process_time()
        await asyncio.sleep(A_LOOK_S)
        is_busy = time.process_time() - before >= IDLE_S or _wants_a_core()


async def at_rest(min_sleep: float = 0, max_sleep: float = LONGEST_S) -> None:
    """Wait until nothing is left to run, every queue is empty and all is drawn; for so long [s] at most."""
    app, loop, end = active_app.get(), asyncio.get_running_loop(), time.monotonic() + max_sleep
    while time.monotonic() < end:
        await asyncio.sleep(0)
        if _may_run(loop) or _drew(app):
            continue
        if any(worker.is_running for worker in app.workers):
            await _until_no_core_is_taken(end)
            if not _may_run(loop):
                return
        elif any(_is_in_hand(pump) for pump in _pumps(app)):
            await asyncio.sleep(0.001)
        else:
            return


async def _wait_for_screen(pilot: Pilot[Any], timeout: float = 30.0) -> bool:
    """Wait until all that was put into the queues is done with, whatever it waits for itself."""
    app, end = pilot.app, time.monotonic() + timeout
    while any(_is_in_hand(pump) for pump in _pumps(app)):
        if app._exception is not None or time.monotonic() > end:
            return False
        await asyncio.sleep(0 if _may_run(asyncio.get_running_loop()) else 0.001)
    return True


@contextmanager
def quick_pilot() -> Iterator[None]:
    """Let every pilot ask in this way."""
    with pytest.MonkeyPatch.context() as patched:
        for asking in ("textual.app", "textual.pilot"):
            patched.setattr(f"{asking}.wait_for_idle", at_rest)
        patched.setattr(Pilot, "_wait_for_screen", _wait_for_screen)
        yield
