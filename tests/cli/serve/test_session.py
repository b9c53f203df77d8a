"""A session in a browser: an entry is written only with the key, and Ctrl+C leaves nothing behind."""

import asyncio
import json
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import aiohttp
import pytest
from aiohttp import CookieJar, WSServerHandshakeError
from aiohttp.test_utils import unused_port

from cooperage.book import Book
from tests.cli.serve.serving import Browser, come_in, front_on


def toppings(path: Path) -> int:
    book = Book.open(str(path))
    from cooperage.book.log import entries

    with book.reading() as connection:
        count = sum(entry.kind == "top" for entry in entries(connection))
    book.close()
    return count


def command_lines() -> str:
    """Every process's command line on this computer."""
    lines = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            lines.append(path.read_text(errors="replace"))
        except OSError:
            continue  # it has ended meanwhile
    return "\n".join(lines)


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="needs /proc to see the command lines")
async def test_an_entry_is_written_only_with_the_key(demo_file: Path, tmp_path: Path) -> None:
    """A browser that has the key tops a barrel, without a word about its focus; nobody else reaches the program.

    Meanwhile the place of the cellar, which may be a server's address with a password, is on no command line.
    """
    path = tmp_path / "secret-place.db"
    shutil.copy(demo_file, path)
    before = toppings(path)
    async with front_on(str(path)) as (front, client):
        own = {"Origin": f"http://127.0.0.1:{front.port}"}
        with pytest.raises(WSServerHandshakeError, match="403"):
            await client.ws_connect("/ws", headers=own)
        await come_in(front, client)
        for stranger in ({}, {"Origin": "http://evil.example"}, {"Origin": "null"}, own | {"Host": "evil.example"}):
            with pytest.raises(WSServerHandshakeError, match="403"):
                await client.ws_connect("/ws", headers=stranger)
        assert toppings(path) == before

        async with client.ws_connect("/ws?width=80&height=24", headers=own) as socket:
            browser = Browser(socket)
            await browser.until("F3 rounds")
            await browser.send("stdin", "\x1bOR")
            await browser.until("Who is at work")
            await browser.send("stdin", "Iko\r")
            await browser.until(r"B-\d+ ›")
            assert "cooperage" in command_lines()
            assert "secret-place" not in command_lines()
            nonsense: Any
            for nonsense in (
                ["resize", {"width": 10**9, "height": 10**9}],
                ["resize", None],
                ["stdin", 3],
                {},
                [],
                "x",
            ):
                await socket.send_str(json.dumps(nonsense))
            await socket.send_str("[" * 5000)
            await browser.send("ping", "7")
            await browser.send("stdin", "700 ml\r")
            while (message := await asyncio.wait_for(socket.receive(), 60)).type is not aiohttp.WSMsgType.TEXT:
                browser._stream.feed(re.sub(rb"\x1b\[[<=>][0-9;]*[a-zA-Z]", b"", message.data))
            assert message.json() == ["pong", "7"]
            await browser.until(r"Written \d\d:\d\d +B-\d+ +top")
            await browser.send("stdin", "\x11")
            while (message := await asyncio.wait_for(socket.receive(), 60)).type is aiohttp.WSMsgType.BINARY:
                pass
            assert message.type in {aiohttp.WSMsgType.CLOSE, aiohttp.WSMsgType.CLOSING, aiohttp.WSMsgType.CLOSED}
        while front._open:  # until the program has left
            await asyncio.sleep(0.05)
    assert toppings(path) == before + 1


@pytest.mark.slow
async def test_ctrl_c_ends_the_front_and_its_sessions(demo_file: Path, tmp_path: Path) -> None:
    """The printed address opens the page; Ctrl+C closes the sockets, the program leaves, and nothing was logged."""
    path, port = tmp_path / "cellar.db", unused_port()
    shutil.copy(demo_file, path)
    words = ["--cellar", str(path), "serve", "--port", str(port), "--host", "0.0.0.0", "--name", "cellar-pc"]
    code = "import sys; from cooperage.cli import main; main(sys.argv[1:])"
    front = await asyncio.create_subprocess_exec(
        sys.executable, "-c", code, *words, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert front.stdout is not None
    assert front.stderr is not None
    result = ""
    while "Ctrl+C" not in result:
        line = await asyncio.wait_for(front.stdout.readline(), 60)
        assert line, (await front.stderr.read()).decode()
        result += line.decode()
    assert re.findall(r"http://[^/]*:\d+/\?key=[\w-]{43}$", result, re.MULTILINE)
    assert f"http://cellar-pc:{port}/?key=" in result
    assert "not encrypted" in result
    address = re.search(r"^Open (\S+)", result, re.MULTILINE)
    assert address is not None
    async with aiohttp.ClientSession(cookie_jar=CookieJar(unsafe=True)) as session:
        async with session.get(address[1]) as page:
            assert page.status == 200
        here = f"http://localhost:{port}"
        async with session.ws_connect(f"{here}/ws", headers={"Origin": here}) as socket:
            await Browser(socket).until("Look first")
            front.send_signal(signal.SIGINT)
            while (await asyncio.wait_for(socket.receive(), 60)).type is aiohttp.WSMsgType.BINARY:
                pass
    rest, complaints = await asyncio.wait_for(front.communicate(), 60)
    assert (front.returncode, rest, complaints) == (0, b"", b"")
