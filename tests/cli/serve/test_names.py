"""The screen in a browser: only from our own page and under our own names."""

from pathlib import Path
from typing import Any

import pytest
from aiohttp.test_utils import make_mocked_request
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from cooperage.cli import main
from cooperage.cli.serve.guard import STRANGE_NAME, STRANGE_PAGE, Guard
from cooperage.cli.serve.names import BadName, as_in_a_browser, served
from tests.cli.serve.serving import answered


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
