"""The screen in a browser: only who has the key comes in, from our own page and under our own names."""

import asyncio
import builtins
import json
import re
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import aiohttp
import pyte
import pytest
from aiohttp import CookieJar, WSServerHandshakeError, web
from aiohttp.test_utils import TestClient, TestServer, make_mocked_request, unused_port
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.cli import main
from cooperage.cli.serve.front import Front
from cooperage.cli.serve.guard import NO_KEY, STRANGE_NAME, STRANGE_PAGE, Guard
from cooperage.cli.serve.names import BadName, as_in_a_browser, served
from cooperage.cli.serve.session import first_size, sane_size

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


PATHS = ["/", "/ws", "/static/js/textual.js", "/page/page.js", "/download/x", "/nowhere", "/?key=", "/?key=wrong"]


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


# --- the key --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PATHS)
async def test_nothing_is_shown_without_the_key(path: Any) -> None:
    """Page, files, socket, download, what is not there: one plain sentence."""
    async with front_on("nowhere.db") as (_front, client), client.get(path) as answer:
        assert answer.status == 403
        assert await answer.text() == NO_KEY + "\n"
        assert answer.headers.get("Set-Cookie") is None


async def test_the_key_is_changed_for_a_cookie_that_no_script_and_no_other_page_can_use() -> None:
    """303 to the plain page; the cookie is named after the port, HttpOnly and SameSite=Strict, and is not the key."""
    async with front_on("nowhere.db") as (front, client):
        async with client.get("/", params={"key": front.guard.key}, allow_redirects=False) as answer:
            assert (answer.status, answer.headers["Location"]) == (303, "/")
            cookie = answer.cookies[f"cooperage-{front.port}"]
            assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/")
            assert cookie.value != front.guard.key
        async with client.get("/") as page:
            assert page.status == 200


@pytest.mark.parametrize("more", ["&next=//evil.example", "&next=http://evil.example/", "#//evil.example"])
@pytest.mark.parametrize(
    "path", ["/", "//evil.example/", "/%2f%2fevil.example", "/\\evil.example", "/..//evil.example"]
)
async def test_the_key_leads_nowhere_else(path: str, more: str) -> None:
    """Whatever stands beside the key, it leads to the plain page or nowhere."""
    async with front_on("nowhere.db") as (front, client):
        address = f"http://127.0.0.1:{front.port}{path}?key={front.guard.key}{more}"
        async with client.session.get(address, allow_redirects=False) as answer:
            assert answer.headers.get("Location") in {None, "/"}
            assert answer.status in {303, 403}


async def test_the_key_opens_the_page_and_nothing_else() -> None:
    """Not the socket, no file; not twice over, not by POST."""
    async with front_on("nowhere.db") as (front, client):
        key = front.guard.key
        for path in (f"/ws?key={key}", f"/static/js/textual.js?key={key}", f"/?key={key}&key={key}", f"/?key={key}x"):
            async with client.get(path, allow_redirects=False) as answer:
                assert answer.status == 403
        async with client.post("/", params={"key": key}, allow_redirects=False) as answer:
            assert answer.status == 403


@given(st.text(max_size=60))
def test_no_other_key_fits(key: str) -> None:
    """Any text at all, surrogates and digits of other scripts too, is compared and refused without a fault."""
    guard = Guard(served("localhost", 8000, ()))
    request = make_mocked_request("GET", "/", headers={"Host": "localhost:8000", "Cookie": f"{guard.cookie}=x"})
    request._rel_url = request._rel_url.with_query(key=key.encode("utf-8", "replace").decode())
    assert answered(guard, request) == (403, NO_KEY)


# --- the names ------------------------------------------------------------------------------------------------------


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


def asked(guard: Guard, host: str, origin: str | None = None, *, socket: bool = False) -> tuple[int, str]:
    """What somebody who has the cookie is answered under a `Host` and an `Origin`."""
    headers = {"Host": host, "Cookie": f"{guard.cookie}={guard._pass}"}
    if origin is not None:
        headers["Origin"] = origin
    if socket:
        headers |= {"Upgrade": "websocket", "Connection": "Upgrade"}
    return answered(guard, make_mocked_request("GET", "/ws" if socket else "/", headers=headers))


OWN = ["localhost:8000", "127.0.0.1:8000", "[::1]:8000", "cellar-pc.lan:8000", "[fd00::5]:8000"]
STRANGE = [
    "",
    " ",
    "localhost",
    "localhost:",
    "localhost:80",
    "localhost:8001",
    "localhost:08000",
    "localhost:8000:8000",
    "LOCALHOST:8000",
    "Localhost:8000",
    "localhost.:8000",
    "localhost.evil.example:8000",
    "evil.example:8000",
    "evil.localhost:8000",
    "xlocalhost:8000",
    "localhostx:8000",
    "127.0.0.1.evil.example:8000",
    "127.0.0.1",
    "127.1:8000",
    "127.0.0.01:8000",
    "2130706433:8000",
    "0x7f.0.0.1:8000",
    "0.0.0.0:8000",
    "127.0.0.2:8000",
    "::1:8000",
    "[::1]",
    "[::1]:8001",
    "[0:0:0:0:0:0:0:1]:8000",
    "[::0001]:8000",
    "[::1%25lo]:8000",
    "[::ffff:127.0.0.1]:8000",
    "[FD00::5]:8000",
    "user@localhost:8000",
    "localhost@evil.example:8000",
    "localhost:8000@evil.example",
    "localhost:8000/",
    "http://localhost:8000",
    "localhost:8000, localhost:8000",
    "ｌocalhost:8000",
    "localhost：8000",
    "locаlhost:8000",
    "localhost:８000",
    "null",
]


@pytest.fixture(scope="module")
def guard() -> Guard:
    return Guard(served("localhost", 8000, ("Cellar-PC.lan", "fd00:0::5")))


@pytest.mark.parametrize("host", OWN)
def test_its_own_names_are_served(guard: Guard, host: Any) -> None:
    assert asked(guard, host) == (204, "")
    assert asked(guard, host, f"http://{host}") == (204, "")
    assert asked(guard, host, f"http://{host}", socket=True) == (204, "")


@pytest.mark.parametrize("host", STRANGE)
def test_a_strange_name_is_not_served(guard: Guard, host: Any) -> None:
    """However near it comes: a name made to point at this computer stays a strange one."""
    assert asked(guard, host) == (403, STRANGE_NAME)
    assert asked(guard, host, f"http://{host}", socket=True) == (403, STRANGE_NAME)


@pytest.mark.slow
@pytest.mark.parametrize("host", OWN)
@pytest.mark.parametrize("page", [*(name for name in STRANGE if ":/" not in name), "localhost:8000.evil.example"])
def test_a_strange_page_is_not_served(guard: Guard, page: Any, host: Any) -> None:
    """Neither to read nor to connect, with any scheme, nor by no origin at all."""
    for origin in (f"http://{page}", f"https://{page}", f"ws://{page}", page):
        if page.strip():
            assert asked(guard, host, origin) == (403, STRANGE_PAGE)
            assert asked(guard, host, origin, socket=True) == (403, STRANGE_PAGE)


@pytest.mark.parametrize("host", OWN)
@pytest.mark.parametrize(
    "origin", ["", "null", "https://{}", "HTTP://{}", "http://{}/", "http://{} http://{}", "file://", "http:{}", "//{}"]
)
def test_an_origin_is_compared_whole(guard: Guard, host: Any, origin: str) -> None:
    assert asked(guard, host, origin.format(host, host), socket=True) == (403, STRANGE_PAGE)


@pytest.mark.parametrize("host", OWN)
def test_a_socket_says_from_which_page_it_comes(guard: Guard, host: Any) -> None:
    """A missing `Origin` is refused on the socket, and so is the page of another of our own names."""
    assert asked(guard, host, socket=True) == (403, STRANGE_PAGE)
    for other in OWN:
        if other != host:
            assert asked(guard, host, f"http://{other}", socket=True) == (403, STRANGE_PAGE)


hostish = st.text(st.sampled_from("localhost127.0.:[]8000@/%evil-xLÖо \t,"), max_size=30) | st.text(max_size=30)


@pytest.mark.slow
@given(hostish, hostish)
def test_only_the_exact_names_pass(host: Any, page: Any) -> None:
    """Over any text: what passes is one of our names, letter for letter."""
    guard = Guard(served("localhost", 8000, ()))
    allowed = {"localhost:8000", "127.0.0.1:8000", "[::1]:8000"}
    assert (asked(guard, host)[0] == 204) == (host in allowed)
    for own in allowed:
        assert (asked(guard, own, page, socket=True)[0] == 204) == (page == f"http://{own}")
        assert asked(guard, own + host)[0] == (204 if own + host in allowed else 403)
        assert asked(guard, host + own)[0] == (204 if host + own in allowed else 403)


def test_two_hosts_or_two_origins_are_none(guard: Guard) -> None:
    for headers in (
        [("Host", OWN[0]), ("Host", "evil.example"), ("Origin", f"http://{OWN[0]}")],
        [("Host", OWN[0]), ("Origin", f"http://{OWN[0]}"), ("Origin", "http://evil.example")],
        [("Origin", f"http://{OWN[0]}")],
    ):
        from multidict import CIMultiDict

        request = make_mocked_request(
            "GET", "/", headers=CIMultiDict([*headers, ("Cookie", f"{guard.cookie}={guard._pass}")])
        )
        assert answered(guard, request)[0] == 403


def test_port_80_is_not_written() -> None:
    """A browser leaves the port out where it is 80."""
    guard = Guard(served("localhost", 80, ()))
    assert asked(guard, "localhost", "http://localhost", socket=True)[0] == 204
    assert asked(guard, "localhost:80")[0] == 403


@pytest.mark.parametrize(
    ("everywhere", "host", "passes"),
    [
        ("0.0.0.0", "192.0.2.7:8000", True),
        ("0.0.0.0", "192.0.2.8:8000", False),
        ("0.0.0.0", "cellar.example:8000", False),
        ("0.0.0.0", "0.0.0.0:8000", False),
        ("::", "[2001:db8::7]:8000", True),
        ("::", "[2001:db8::8]:8000", False),
        ("192.0.2.7", "192.0.2.7:8000", True),
        ("192.0.2.7", "[2001:db8::7]:8000", False),
    ],
)
def test_listening_everywhere_serves_the_address_that_was_reached(everywhere: str, host: str, passes: bool) -> None:
    """Under the address the connection came in at, which no foreign name can be; another address needs --name."""
    where = served(everywhere, 8000, ())
    reached = "2001:db8::7" if ":" in everywhere or "[" in host else "192.0.2.7"
    assert where.under(host, reached) is passes


@pytest.mark.parametrize(
    "name",
    [
        "",
        "http://cellar",
        "cellar:8000",
        "a b",
        "cellar/",
        "*.lan",
        "10.0.0",
        "0",
        "12",
        "x.1",
        "-x",
        "é.example",
        "a..b",
        "fe80::1%eth0",
        "u@cellar",
        "a\nb",
        "a\n",
    ],
)
def test_what_is_no_name_is_refused_in_one_line(name: str, tmp_path: Path) -> None:
    """In --name and in --host, before anything is opened."""
    with pytest.raises(BadName):
        as_in_a_browser(name)
    for option in ("--name", "--host"):
        done = CliRunner().invoke(main, ["--cellar", str(tmp_path / "no.db"), "serve", f"{option}={name}"])
        assert (done.exit_code, done.stdout) == (2, "")
        assert len(done.stderr.strip().splitlines()) == 1


# --- the page -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost", "cellar-pc.lan"])
async def test_the_page_points_at_the_address_it_was_asked_under(name: str) -> None:
    async with front_on("nowhere.db", ("cellar-pc.lan",)) as (front, client):
        host = f"{name}:{front.port}"
        headers = {"Host": host, "Cookie": f"{front.guard.cookie}={front.guard._pass}"}
        async with client.get("/", headers=headers) as answer:
            text = await answer.text()
            assert f'"ws://{host}/ws"' in text
            assert f"connect-src 'self' ws://{host};" in answer.headers["Content-Security-Policy"]


async def test_the_page_fetches_nothing_from_anyone_else() -> None:
    """Every address in the page and its style is on this front, and is there; the browser is told to take no other."""
    async with front_on("nowhere.db") as (front, client):
        await come_in(front, client)
        async with client.get("/?fontsize=20") as answer:
            page = await answer.text()
            assert 'data-font-size="20"' in page
            assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'; script-src 'self';")
        async with client.get("/page/page.css") as answer:
            style = await answer.text()
        wanted = re.findall(r'(?:src|href)="([^"]*)"', page) + re.findall(r'url\("([^"]*)"\)', style)
        assert len(wanted) > 5
        assert not re.search(r"https?:|@import", page + style)
        for address in set(wanted) - {"data:,"}:
            assert re.match(r"/(static|page)/", address)
            async with client.get(address) as answer:
                assert answer.status == 200, address


@pytest.mark.parametrize("size", ["", "5", "9999", "-3", "1e3", "١٦", "9" * 5000, '"><script>'])
async def test_a_font_size_out_of_reason_is_the_usual_one(size: str) -> None:
    async with front_on("nowhere.db") as (front, client):
        await come_in(front, client)
        async with client.get("/", params={"fontsize": size}) as answer:
            assert 'data-font-size="16"' in await answer.text()


async def test_the_socket_opened_as_a_page_is_one_line(
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    """426 and where to go instead; nothing on the server's terminal."""
    async with front_on("nowhere.db") as (front, client):
        await come_in(front, client)
        for headers in ({}, {"Upgrade": "websocket", "Origin": f"http://127.0.0.1:{front.port}"}):
            async with client.get("/ws", headers=headers) as answer:
                assert answer.status == 426
                assert len((await answer.text()).splitlines()) == 1
    assert (caplog.text, *capfd.readouterr()) == ("", "", "")


async def test_folders_are_not_listed() -> None:
    async with front_on("nowhere.db") as (front, client):
        await come_in(front, client)
        for folder in ("/static/", "/static/js/", "/page/", "/page/../front.py", "/page/%2e%2e/front.py"):
            async with client.get(folder) as answer:
                assert answer.status in {403, 404}


# --- frames ---------------------------------------------------------------------------------------------------------


@given(st.integers() | st.floats() | st.booleans() | st.text() | st.none(), st.integers(10, 100))
def test_only_sizes_that_a_window_has_are_passed_on(width: Any, height: int) -> None:
    allowed = type(width) is int and 20 <= width <= 300
    assert sane_size(width, height) == ((width, height) if allowed else None)
    assert sane_size(100, 1_000_000_000) is None


@pytest.mark.parametrize(
    ("query", "size"),
    [
        ({"width": "120", "height": "40"}, (120, 40)),
        ({"width": "1000000000", "height": "40"}, (80, 24)),
        ({"width": "9" * 5000, "height": "40"}, (80, 24)),
        ({"width": "x", "height": "40"}, (80, 24)),
        ({}, (80, 24)),
    ],
)
def test_the_first_size_is_one_that_a_window_has(query: dict[str, Any], size: tuple[Any, ...]) -> None:
    assert first_size(query) == size


# --- a session ------------------------------------------------------------------------------------------------------


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
            await browser.until(r"^ B-\d+  top with")
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
            await browser.until(r"Written: top B-\d+")
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
            await Browser(socket).until("stops to do")
            front.send_signal(signal.SIGINT)
            while (await asyncio.wait_for(socket.receive(), 60)).type is aiohttp.WSMsgType.BINARY:
                pass
    rest, complaints = await asyncio.wait_for(front.communicate(), 60)
    assert (front.returncode, rest, complaints) == (0, b"", b"")


# --- the command ----------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_without_the_extra_one_line_says_how_to_get_it_from_here(
    demo: "Cooperage", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not a name from the public index, where it is somebody else's."""
    really = builtins.__import__

    def without(name: Any, *args: Any, **kwargs: Any) -> Any:
        if name.split(".")[0] in {"aiohttp", "textual_serve"}:
            raise ModuleNotFoundError(f"No module named {name!r}")
        return really(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    for module in [name for name in sys.modules if name.startswith("cooperage.cli.serve.") and "names" not in name]:
        monkeypatch.delitem(sys.modules, module)
    code, line = demo.refuses("serve")
    assert code == 2
    assert ".venv/bin/pip install -e '.[serve]'" in line
    assert "'cooperage[" not in line


def test_a_port_that_is_taken_is_said_in_one_line(demo: "Cooperage") -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = demo.refuses("serve", "--host", "127.0.0.1", "--port", str(port))
    assert done == (2, f"cooperage: port {port} is taken; choose another with --port")


def test_an_address_of_another_computer_is_said_in_one_line(demo: "Cooperage") -> None:
    code, line = demo.refuses("serve", "--host", "192.0.2.77", "--port", str(unused_port()))
    assert (code, "not an address of this computer" in line) == (2, True)
