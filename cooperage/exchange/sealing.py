"""Rows of a flight that is still blind, and of its trial: whole in the file, and readable to no one.

An export must bring the cellar back, blind flights too; and whoever opens `scores.csv` may be about to taste. So of a
blind flight the revealing cells (vessel, contents, scores, words, verdict) stand in one cell, `sealed`, which an import
opens; so do the barrels of its trial, with their treatments, and the seed these were drawn with. A seal keeps an eye
from falling on the codes. It is no lock, no more than the cellar's own file is one: whoever wants to look can. Each row
is sealed by itself, so that two glasses of one vessel do not look alike, and the same row always in the same way, so
that two exports of one book agree.
"""

import json
from base64 import b32decode, b32encode
from binascii import Error as NotBase32
from collections.abc import Mapping
from hashlib import sha256, shake_256

from cooperage.errors import BadInput

SEALED = ("vessel", "what", "role", "score", "marks", "words", "verdict", "weeks")
"""The columns of `scores.csv` that reveal what is in a glass or what it was given."""
_SEALED = (*SEALED, "answer", "barrels", "seed")
"""Those, what was answered in `sets.csv`, and which barrel got which treatment in `barrel_trials.csv`."""
_KNOWN_BY = ("flight", "glass", "taster")
_OF_ITS_FILE = ("round", "glasses", "code")
"""What a row of a set and a row of a trial are known by besides."""
_BLOCK = 64
"""Sealed cells are as long as so many bytes or twice as many: the length reveals nothing."""
_PROOF = 8


class BrokenSeal(BadInput):
    """A sealed cell that is not whole, or stands in another row than it was made for."""

    def __init__(self) -> None:
        super().__init__("the seal is broken; export the flight again, or write what is in this row in the clear")


def seal(cells: Mapping[str, str], at_least: int = 0) -> dict[str, str]:
    """Return a row with what it reveals sealed, by column name; blank cells are left out.

    Rows that must not differ in the length of their seals are given the same `at_least`: the bytes that are sealed.
    """
    words = {name: cells[name] for name in _SEALED if cells.get(name)}
    plain = json.dumps(words, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()
    padded = plain.ljust(-(-max(len(plain), at_least) // _BLOCK) * _BLOCK)
    hidden = _mixed(padded, cells)
    proof = _proof(padded, cells)
    rest = {name: text for name, text in cells.items() if name not in _SEALED}
    return rest | {"sealed": _written(proof + hidden)}


def _written(raw: bytes) -> str:
    return b32encode(raw).decode().rstrip("=")


def unseal(cells: Mapping[str, str]) -> dict[str, str]:
    """Return a row with its seal opened; one without a seal as it is. Raises BrokenSeal."""
    given = cells.get("sealed")
    if given is None:
        return dict(cells)
    try:
        raw = b32decode(given + "=" * (-len(given) % 8))
        padded = _mixed(raw[_PROOF:], cells)
        if raw[:_PROOF] != _proof(padded, cells) or _written(raw) != given:  # the last letter has bits to spare
            raise BrokenSeal
        hidden: dict[str, str] = json.loads(padded)
    except (NotBase32, ValueError) as error:
        raise BrokenSeal from error
    return {name: text for name, text in cells.items() if name != "sealed"} | hidden


def _row(cells: Mapping[str, str]) -> bytes:
    """Return what a row is known by."""
    names = [*_KNOWN_BY, *(name for name in _OF_ITS_FILE if name in cells)]
    return "\0".join(cells.get(name, "") for name in names).encode("utf-8", "surrogatepass")


def _mixed(text: bytes, cells: Mapping[str, str]) -> bytes:
    """Mix a text with what its row alone gives, or take that out again."""
    return bytes(a ^ b for a, b in zip(text, shake_256(_row(cells)).digest(len(text)), strict=True))


def _proof(text: bytes, cells: Mapping[str, str]) -> bytes:
    return sha256(_row(cells) + b"\0" + text).digest()[:_PROOF]
