"""One browser's session: the program in a process of its own, and the frames that pass to and fro."""

import asyncio
import json
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Mapping
from contextlib import suppress

from aiohttp import WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

PROGRAM = (sys.executable, "-P", "-c", "from cooperage.cli import main; main(prog_name='cooperage')")
LARGEST_FRAME = 64 * 1024
WIDTHS, HEIGHTS = range(20, 301), range(10, 101)
GRACE_S = 5.0
"""How long the program may take to leave after its browser has gone."""


def sane_size(width: object, height: object) -> tuple[int, int] | None:
    """Return a terminal's size in cells, or None for what no browser window has."""
    if type(width) is int and type(height) is int and width in WIDTHS and height in HEIGHTS:
        return width, height
    return None


def first_size(query: Mapping[str, str]) -> tuple[int, int]:
    """Return the size that the page asked for when it opened the socket, else 80 by 24."""
    with suppress(KeyError, ValueError):
        return sane_size(int(query["width"]), int(query["height"])) or (80, 24)
    return 80, 24


class Session(AppService):
    """The program on one cellar. The cellar's place goes by the environment: a command line is there for all to see."""

    def __init__(self, cellar: str, web_socket: web.WebSocketResponse, downloads: DownloadManager) -> None:
        super().__init__(
            "cooperage",
            write_bytes=web_socket.send_bytes,
            write_str=web_socket.send_str,
            close=self._close,
            download_manager=downloads,
        )
        self._cellar = cellar
        self._web_socket = web_socket

    async def _close(self) -> None:
        await self._web_socket.close()

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        return {**super()._build_environment(width, height), "COOPERAGE_CELLAR": self._cellar}

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        environment = self._build_environment(width, height)
        self._process = process = await asyncio.create_subprocess_exec(
            *PROGRAM, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment
        )
        self._stdin = process.stdin
        return process

    async def run(self) -> None:
        """Pass on what the program shows; when it ends, for whatever reason, the browser is informed."""
        await super().run()
        await self._close()

    async def stop(self) -> None:
        """Ask the program to leave, read what it still sends so that it can, and end it if it does not."""
        if self._process is None:
            return
        process, self._process = self._process, None
        with suppress(TimeoutError):
            await asyncio.wait_for(super().stop(), GRACE_S)
        try:
            await asyncio.wait_for(process.communicate(), GRACE_S)
        except TimeoutError:
            process.kill()
            await process.communicate()
        finally:
            if process.returncode is None:  # no one waits any longer: the front itself is leaving
                process.kill()

    async def receive(self) -> None:
        """Pass on what the browser sends until it leaves; what is no frame of our page's is passed over."""
        async for message in self._web_socket:
            if message.type is WSMsgType.TEXT:
                await self._receive_text(message.data)

    async def _receive_text(self, text: str) -> None:
        match _read(text):
            case ["stdin", str(typed)]:
                await self.send_bytes(typed.encode("utf-8", "replace"))
            case ["resize", {"width": width, "height": height}] if size := sane_size(width, height):
                await self.set_terminal_size(*size)
            case ["ping", str(stamp)]:
                await self._web_socket.send_json(["pong", stamp])
            case ["blur"]:
                await self.blur()
            case ["focus"]:
                await self.focus()


def _read(text: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None
