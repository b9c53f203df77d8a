"""The screen in a browser: only who has the key comes in."""

from typing import Any

import pytest
from aiohttp.test_utils import make_mocked_request
from hypothesis import given
from hypothesis import strategies as st

from cooperage.cli.serve.guard import NO_KEY, Guard
from cooperage.cli.serve.names import served
from tests.cli.serve.serving import answered, front_on

PATHS = ["/", "/ws", "/static/js/textual.js", "/page/page.js", "/download/x", "/nowhere", "/?key=", "/?key=wrong"]


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
