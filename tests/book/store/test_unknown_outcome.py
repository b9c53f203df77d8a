"""A cellar that goes away while an entry is written: acknowledged and there, refused and not, or unknown and said so.

The server is cut off by a proxy on this machine at every message of a topping, before or after it is handed on; the
file is cut off by its driver.
"""

import re
import socket
import sqlite3
import struct
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any

import psycopg
import pytest
from sqlalchemy import event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import OperationalError

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import CellarUnusable, OutcomeUnknown
from cooperage.book.log import entries


class Proxy:
    """Hands on to a PostgreSQL server, and cuts the line at a client's message, `before` or after handing it on."""

    def __init__(self, url: str) -> None:
        with psycopg.connect(url) as there:
            self._host, self._port = there.info.host, there.info.port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        self.cut_at: int | None = None
        self.before = True
        self.messages: list[bytes] = []
        self.was_cut = False
        threading.Thread(target=self._accept, daemon=True).start()

    def arm(self, cut_at: int | None, *, before: bool = True) -> None:
        """Begin to count messages, to cut at one of them."""
        self.messages, self.was_cut = [], False
        self.cut_at, self.before = cut_at, before

    def close(self) -> None:
        self._listening.close()

    def _server(self) -> socket.socket:
        if not self._host.startswith("/"):
            return socket.create_connection((self._host, self._port))
        line = socket.socket(socket.AF_UNIX)
        line.connect(f"{self._host}/.s.PGSQL.{self._port}")
        return line

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                client, _ = self._listening.accept()
                threading.Thread(target=self._serve, args=(client, self._server()), daemon=True).start()

    def _serve(self, client: socket.socket, server: socket.socket) -> None:
        threading.Thread(target=self._answer, args=(client, server), daemon=True).start()
        with suppress(OSError), client.makefile("rb") as output:
            (length,) = struct.unpack("!I", output.read(4))
            server.sendall(struct.pack("!I", length) + output.read(length - 4))  # the first message bears no type
            while head := output.read(5):
                message = head + output.read(struct.unpack("!I", head[1:])[0] - 4)
                self.messages.append(message)
                is_cut = len(self.messages) - 1 == self.cut_at
                if is_cut:
                    self.was_cut = True
                    client.shutdown(socket.SHUT_WR)
                if not (is_cut and self.before):
                    server.sendall(message)
                if is_cut:
                    break
            client.close()
            server.shutdown(socket.SHUT_WR)

    def _answer(self, client: socket.socket, server: socket.socket) -> None:
        with suppress(OSError):
            while answer := server.recv(65_536):
                with suppress(OSError):  # cut off: the server is heard to its end all the same
                    client.sendall(answer)


@pytest.fixture
def far(fresh_postgres: Callable[[], Book]) -> Iterator[Any]:
    """A furnished book on a server, a book on it by way of the proxy, and the proxy."""
    near = fresh_postgres()
    near.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    near.write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000))
    url = near._engine.url
    plain = url.set(drivername="postgresql").render_as_string(hide_password=False)
    proxy = Proxy(plain)
    by_way = url.set(host="127.0.0.1", port=proxy.port).update_query_dict(
        {"sslmode": "disable", "gssencmode": "disable"}
    )
    if url.username is None:
        with psycopg.connect(plain) as there:
            by_way = by_way.set(username=there.info.user)
    far = Book.open(make_url(by_way).render_as_string(hide_password=False), near.now)
    far.write(acts.Sample(vessel="K-1", volume=1))
    yield near, far, proxy
    far.close()
    near.close()
    proxy.close()


def samples(book: Book) -> int:
    with book.reading() as connection:
        return len(entries(connection, kind="sample"))


@pytest.mark.slow
def test_a_server_that_goes_away_is_told_truly_at_every_message(far: Any) -> None:
    """Cut before and after each message of a sample: done, refused and not there, or unknown and said so."""
    near, far, proxy = far
    proxy.arm(None)
    far.write(acts.Sample(vessel="K-1", volume=1))
    count = len(proxy.messages)
    commit = next(at for at, message in enumerate(proxy.messages) if b"COMMIT" in message)
    endings = set()
    for cut_at in range(count):
        for before in (True, False):
            there = samples(near)
            proxy.arm(cut_at, before=before)
            ending = _ending(far)
            assert proxy.was_cut, "the fault fired"
            far._engine.dispose()
            is_there = _settled(near) - there
            assert is_there in {"acknowledged": (1,), "refused": (0,), "unknown": (0, 1)}[ending], (cut_at, before)
            endings.add((ending, is_there))
            if cut_at == commit:
                assert (ending, is_there) == ("unknown", 0 if before else 1)
    assert {("refused", 0), ("unknown", 0), ("unknown", 1)} <= endings


def _ending(book: Book) -> str:
    """Write a sample and return how that ended, as the person was told."""
    result = ""
    try:
        book.write(acts.Sample(vessel="K-1", volume=1))
    except CellarUnusable as error:
        result = str(error)
    endings = {"nothing was written": "refused", "may be in the book or not": "unknown"}
    return next(ending for words, ending in endings.items() if words in result) if result else "acknowledged"


def _settled(near: Any) -> int:
    """Count the samples once the server has ended what it was told: it holds the writers' lock until then."""
    with near.writing():
        return samples(near)


@pytest.mark.parametrize(
    ("message", "error"),
    [
        ("disk I/O error", OutcomeUnknown),
        ("database or disk is full", CellarUnusable),
        ("database is locked", CellarUnusable),
    ],
)
def test_a_file_that_fails_at_commit_is_told_truly(fresh_sqlite: Callable[[], Book], message: str, error: Any) -> None:
    """An error of the medium may leave the entry in the file; a full disk and a lock leave nothing."""
    book = fresh_sqlite()

    def fail(_connection: Any) -> None:
        raise OperationalError("COMMIT", {}, sqlite3.OperationalError(message))

    event.listen(book._engine, "commit", fail)
    with pytest.raises(CellarUnusable) as result:
        book.write(acts.Climate(room="Low", temperature=14.0, humidity=70.0))
    assert type(result.value) is error
    assert bool(re.search("nothing was written", str(result.value))) is (error is CellarUnusable)


def test_an_error_of_the_medium_before_the_commit_wrote_nothing(fresh_sqlite: Callable[[], Book]) -> None:
    """It is known then, and said."""
    book = fresh_sqlite()

    def fail(*_: Any) -> None:
        raise OperationalError("INSERT", {}, sqlite3.OperationalError("disk I/O error"))

    event.listen(book._engine, "before_cursor_execute", fail)
    with pytest.raises(CellarUnusable, match="nothing was written"):
        book.write(acts.Climate(room="Low", temperature=14.0, humidity=70.0))
