"""The page that a browser is given: it fetches from here alone, in a size that a window has."""

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.cli.serve.session import first_size, sane_size
from tests.cli.serve.serving import come_in, front_on


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
