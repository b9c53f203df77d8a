"""The front to the browser: the page, its files, the socket; all behind the guard."""

import errno
from collections.abc import Callable
from html import escape
from pathlib import Path
from socket import gaierror
from string import Template

from aiohttp import WSCloseCode, hdrs, web
from textual_serve.server import Server

from cooperage.cli.serve.guard import HEADERS, Guard
from cooperage.cli.serve.names import Served
from cooperage.cli.serve.session import LARGEST_FRAME, Session, first_size
from cooperage.errors import BadInput

PAGE = Path(__file__).parent / "page"
NOT_A_PAGE = "This is where the screen itself connects: open http://{} instead.\n"
TRUSTED_ONLY = (
    "Caution: this line is not encrypted, and whoever has the address with its key can read and write the book. "
    "Use it only on a network you trust."
)
FONT_SIZES = frozenset(map(str, range(6, 73)))
SHUTTING_DOWN_S = 10.0


class CannotListen(BadInput):
    """The address to listen at is taken, or is not this computer's."""

    def __init__(self, served: Served, error: OSError) -> None:
        if error.errno == errno.EADDRINUSE:
            super().__init__(f"port {served.port} is taken; choose another with --port")
        else:
            super().__init__(f"cannot listen at {served.host}, port {served.port}: not an address of this computer?")


class Front(Server):
    """Serves the program on one cellar to whoever has the key."""

    def __init__(self, cellar: str, served: Served, report: Callable[[str], None]) -> None:
        super().__init__("cooperage", host=served.host, port=served.port, title="Cooperage")
        self._cellar, self._served, self._report = cellar, served, report
        self._open: set[web.WebSocketResponse] = set()
        self.guard = Guard(served)

    async def _make_app(self) -> web.Application:
        app = web.Application(middlewares=[self.guard.middleware()])
        app.add_routes(
            [
                web.get("/", self._page),
                web.get("/ws", self._screen),
                web.get("/download/{key}", self.handle_download),
                web.static("/page", PAGE),
                web.static("/static", self.statics_path),
            ]
        )
        app.on_shutdown.append(self._close_all)
        return app

    async def _close_all(self, _app: web.Application) -> None:
        for web_socket in set(self._open):
            await web_socket.close(code=WSCloseCode.GOING_AWAY)

    def serve(self, debug: bool = False) -> None:  # noqa: ARG002 - as the base declares it
        """Serve until Ctrl+C. No log of requests: the first of each browser holds the key. Raises: CannotListen."""
        try:
            web.run_app(
                self._make_app(),
                host=self.host,
                port=self.port,
                access_log=None,
                print=self._print_addresses,
                shutdown_timeout=SHUTTING_DOWN_S,
            )
        except (gaierror, OSError) as error:
            raise CannotListen(self._served, error) from error

    def _print_addresses(self, _listening: str) -> None:
        """Print the addresses to open, once."""
        first, *others = (f"{address}?key={self.guard.key}" for address in self._served.addresses())
        self._report(f"Open {first}")
        for other in others:
            self._report(f"or   {other}")
        if not self._served.at_home:
            self._report(TRUSTED_ONLY)
        self._report("Ctrl+C ends it.")

    async def _page(self, request: web.Request) -> web.Response:
        """Answer with the page; it points at the address it was asked under."""
        host = escape(request.headers[hdrs.HOST])
        asked = request.query.get("fontsize", "")
        font = asked if asked in FONT_SIZES else "16"
        text = Template((PAGE / "index.html").read_text(encoding="utf-8")).substitute(host=host, font=font)
        only_ours = (
            f"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
            f"img-src 'self' data:; connect-src 'self' ws://{host}; "
            f"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        headers = {**HEADERS, "Content-Security-Policy": only_ours}
        return web.Response(text=text, content_type="text/html", headers=headers)

    async def _screen(self, request: web.Request) -> web.StreamResponse:
        """Run the program for one browser."""
        web_socket = web.WebSocketResponse(heartbeat=15, max_msg_size=LARGEST_FRAME)
        if not web_socket.can_prepare(request):
            words = NOT_A_PAGE.format(request.headers[hdrs.HOST])
            return web.Response(status=426, text=words, headers={hdrs.UPGRADE: "websocket", **HEADERS})
        await web_socket.prepare(request)
        session = Session(self._cellar, web_socket, self.download_manager)
        self._open.add(web_socket)
        try:
            await session.start(*first_size(request.query))
            await session.receive()
        finally:
            try:
                await session.stop()
            finally:
                self._open.discard(web_socket)
        return web_socket
