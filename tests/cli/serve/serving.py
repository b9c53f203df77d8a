"""A front that serves a cellar in this process, and browsers that come to it."""

import asyncio
import json
import re
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager
from typing import Any, cast

import aiohttp
import pyte
import pytest
from aiohttp import CookieJar, web
from aiohttp.test_utils import TestClient, TestServer, unused_port

from cooperage.cli.serve.front import Front
from cooperage.cli.serve.guard import Guard
from cooperage.cli.serve.names import served


class AsServed(TestServer):
    """aiohttp's test server, that lets a handler end in its own time, as `web.run_app` does."""

    async def _make_runner(self, **kwargs: Any) -> Any:
        return await super()._make_runner(**kwargs | {"handler_cancellation": False})


@asynccontextmanager
async def front_on(cellar: str, names: tuple[str, ...] = ()) -> AsyncIterator[Any]:
    """Serve a cellar, in this process, on a free port; yield the front and a browser that knows no key yet."""
    port = unused_port()
    front = Front(cellar, served("127.0.0.1", port, names), lambda _line: None)
    server = AsServed(await front._make_app(), host="127.0.0.1", port=port)
    async with TestClient(server, cookie_jar=CookieJar(unsafe=True)) as client:
        yield front, client


async def come_in(front: Front, client: TestClient[Any, Any]) -> None:
    """Open the address with its key, as a person does."""
    async with client.get("/", params={"key": front.guard.key}) as page:
        assert page.status == 200
        assert page.url.query_string == ""


def answered(guard: Guard, request: web.Request) -> tuple[int, str]:
    """What the guard answers; 204 when it lets a request through to what is behind it."""

    async def behind(_request: web.Request) -> web.Response:
        return web.Response(status=204)

    # The guard awaits nothing but what is behind it, so that it can be driven without an event loop.
    steps = cast("Coroutine[Any, Any, web.StreamResponse]", guard.middleware()(request, behind))
    with pytest.raises(StopIteration) as done:
        steps.send(None)
    answer = done.value.value
    return answer.status, (answer.text or "").strip()


class Browser:
    """A browser's terminal on a socket: what it shows, and what is typed into it."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket = socket
        self._screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self._screen)

    async def until(self, pattern: str) -> str:
        """Wait until the screen shows a pattern."""
        while not re.search(pattern, shown := "\n".join(self._screen.display), re.MULTILINE):
            message = await asyncio.wait_for(self._socket.receive(), 60)
            assert message.type is aiohttp.WSMsgType.BINARY, f"{message}; the screen showed\n{shown}"
            self._stream.feed(re.sub(rb"\x1b\[[<=>][0-9;]*[a-zA-Z]", b"", message.data))
        return shown

    async def send(self, *frame: object) -> None:
        await self._socket.send_str(json.dumps(frame))
