"""Who may come in: one guard in front of every path, run before a web socket is upgraded.

In this order: `Host` is a name the front is served under; `Origin`, where a browser sends one, is the front's own page,
and a web socket must send it; the key of the address, or the cookie it was changed for. A web socket is not bound by
the browser's same-origin rule (RFC 6455, 10.2), which is why its `Origin` may not be missing.
"""

import secrets
from collections.abc import Awaitable, Callable

from aiohttp import hdrs, web
from aiohttp.typedefs import Middleware

from cooperage.cli.serve.names import Served

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

STRANGE_NAME = "This cellar is not served under that name: open the address that `cooperage serve` printed."
STRANGE_PAGE = "Another page asked for this: open the address that `cooperage serve` printed."
NO_KEY = "This needs the key: open the whole address that `cooperage serve` printed, to its last letter."

HEADERS = {"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store"}


class Guard:
    """Lets in who has the key, from the front's own page, under the front's own names."""

    def __init__(self, served: Served) -> None:
        self._served = served
        self.key = secrets.token_urlsafe(32)
        self._pass = secrets.token_urlsafe(32)
        self.cookie = f"cooperage-{served.port}"  # cookies do not part two ports of one host

    def middleware(self) -> Middleware:
        """Return the guard as aiohttp takes it."""

        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            return self._refusal(request) or self._changed_key(request) or await handler(request)

        return guard

    def _refusal(self, request: web.Request) -> web.Response | None:
        if not self._is_named(request):
            return _refuse(STRANGE_NAME)
        if not _is_own_page(request):
            return _refuse(STRANGE_PAGE)
        if not (self._has_pass(request) or self._has_key(request)):
            return _refuse(NO_KEY)
        return None

    def _is_named(self, request: web.Request) -> bool:
        hosts = request.headers.getall(hdrs.HOST, [])
        return len(hosts) == 1 and self._served.under(hosts[0], _reached(request))

    def _has_pass(self, request: web.Request) -> bool:
        return _same(request.cookies.get(self.cookie, ""), self._pass)

    def _has_key(self, request: web.Request) -> bool:
        """Return True if the page itself is opened with the key; nothing else is opened so."""
        given = request.query.getall("key", [])
        return request.method == hdrs.METH_GET and request.path == "/" and len(given) == 1 and _same(given[0], self.key)

    def _changed_key(self, request: web.Request) -> web.Response | None:
        """Take the key out of the address: a cookie, and on to the plain page."""
        if not self._has_key(request):
            return None
        onward = web.Response(status=303, headers={hdrs.LOCATION: "/", **HEADERS})
        onward.set_cookie(self.cookie, self._pass, httponly=True, samesite="Strict", path="/")
        return onward


def _is_own_page(request: web.Request) -> bool:
    origins = request.headers.getall(hdrs.ORIGIN, [])
    if not origins:
        return not _wants_socket(request)
    return origins == [f"http://{request.headers[hdrs.HOST]}"]


def _wants_socket(request: web.Request) -> bool:
    return hdrs.UPGRADE in request.headers


def _reached(request: web.Request) -> str | None:
    name = request.transport.get_extra_info("sockname") if request.transport is not None else None
    return str(name[0]) if isinstance(name, tuple) else None


def _same(given: str, secret: str) -> bool:
    return secrets.compare_digest(given.encode("utf-8", "replace"), secret.encode())


def _refuse(words: str) -> web.Response:
    return web.Response(status=403, text=words + "\n", headers=HEADERS)
