"""Under which names the screen is served: the only ones that `Host` and `Origin` may hold.

A browser writes a host in one way (the URL standard's serialising: lower case, addresses in short form, the port unless
it is 80), so names are compared whole and exactly; nothing is normalised on the way in. A page of another's whose
name is made to point at this computer (DNS rebinding) sends its own name in `Host`, and is refused.
"""

import re
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address

from cooperage.errors import BadInput

LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
_LABEL = r"[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9_])?"
_NAME = re.compile(rf"(?=.{{1,253}}\Z)({_LABEL}\.)*(?![0-9]+\Z){_LABEL}\Z")


class BadName(BadInput):
    """What was given is no host to listen at or be opened under."""

    def __init__(self, text: str) -> None:
        super().__init__(f"{text!r} is no name or address of a computer; write it without http:// and port")


def as_in_a_browser(text: str) -> str:
    """Return a name, IPv4 or IPv6 address as a browser writes it in `Host`, without the port. Raises: BadName."""
    try:
        address = ip_address(text.removeprefix("[").removesuffix("]"))
    except ValueError:
        name = text.lower()
        if not text.isascii() or not _NAME.match(name):
            raise BadName(text) from None
        return name
    if isinstance(address, IPv6Address):
        if address.scope_id is not None:
            raise BadName(text)
        return f"[{address.compressed}]"
    return str(address)


@dataclass(frozen=True, slots=True)
class Served:
    """Where the front listens (`host`, `port`) and the hosts it is opened under, as a browser writes them.

    `everywhere` when it listens at every address of this computer: then also under the one that was connected to.
    """

    host: str
    port: int
    hosts: frozenset[str]
    everywhere: bool

    def authority(self, host: str) -> str:
        """Return what `Host` holds for one of the hosts."""
        return host if self.port == 80 else f"{host}:{self.port}"

    def under(self, host_given: str, reached: str | None) -> bool:
        """Return True if `Host` names this front; `reached` is the address of ours that the connection came in at."""
        hosts = set(self.hosts)
        if self.everywhere and reached is not None:
            hosts.add(as_in_a_browser(reached.partition("%")[0]))
        return host_given in {self.authority(host) for host in hosts}

    @property
    def at_home(self) -> bool:
        """Whether only this computer can reach it."""
        return as_in_a_browser(self.host) in LOOPBACK

    def addresses(self) -> list[str]:
        """Return the addresses to open, without the key: this computer's first, then the one seen from its network."""
        first = "localhost" if self.everywhere else as_in_a_browser(self.host)
        seen = _seen_from_the_network() if self.everywhere else None
        named = sorted(self.hosts.difference(LOOPBACK, (first,)))
        hosts = [first, *([seen] if seen and seen not in named else []), *named]
        return [f"http://{self.authority(host)}/" for host in hosts]


def served(host: str, port: int, names: Sequence[str]) -> Served:
    """Return where to listen and the names to be opened under: this computer's own, the host's and `names`.

    Raises: BadName.
    """
    asked = as_in_a_browser(host)
    bare = asked.strip("[]")
    everywhere = bare in {"0.0.0.0", "::"}
    own = () if everywhere else (asked,)
    return Served(bare, port, frozenset((*LOOPBACK, *own, *map(as_in_a_browser, names))), everywhere)


def _seen_from_the_network() -> str | None:
    """Return this computer's address on its network, or None without one. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1 (RFC 5737): only chooses the way out
        except OSError:
            return None
        return str(probe.getsockname()[0])
