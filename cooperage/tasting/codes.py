"""Blind codes for the glasses, and the order in which each taster meets them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cooperage.errors import BadInput
from cooperage.units import counted

_RUNS = ({1}, {-1})  # each digit one more, or one less, than the digit before


def _is_neutral(code: str) -> bool:
    """Whether a code has three different digits that do not count up or down (common practice, no source)."""
    steps = {int(b) - int(a) for a, b in pairwise(code)}
    return len(set(code)) == len(code) and steps not in _RUNS


_CODES = tuple(code for code in map(str, range(100, 1000)) if _is_neutral(code))


class TooManyGlasses(BadInput):
    """More glasses than there are codes, or fewer than none."""

    def __init__(self, asked: int) -> None:
        self.asked, self.available = asked, len(_CODES)
        super().__init__(f"{counted(asked, 'glass', 'glasses')} cannot be coded; a flight has from 0 to {len(_CODES)}")


class NothingToCode(BadInput):
    """A serving order with no glass or no taster."""

    def __init__(self, glasses: int, tasters: int) -> None:
        self.glasses, self.tasters = glasses, tasters
        panel = f"{counted(glasses, 'glass', 'glasses')} for {counted(tasters, 'taster')}"
        super().__init__(f"{panel}; there must be one of each at least")


def blind_codes(n: int, rng: np.random.Generator) -> list[str]:
    """Draw n different three-digit codes from 100 to 999 that suggest no order: no 122, no 123, no 321."""
    if not 0 <= n <= len(_CODES):
        raise TooManyGlasses(n)
    return [str(code) for code in rng.choice(_CODES, size=n, replace=False)]


def serving_orders(glasses: int, tasters: int, rng: np.random.Generator) -> NDArray[np.int64]:
    """Balanced orders of shape (tasters, glasses): a row lists glasses, from 0, as that taster meets them.

    Rows are dealt from whole Latin squares, so however many tasters there are, two glasses stand first (or
    second, ...) equally often or once more. The squares are Williams designs: over a full design (`glasses`
    tasters when that number is even, twice as many when it is odd) every glass also follows every other
    equally often, which shares out what a strong glass does to the next. Which glass is which, and who gets
    which row, is drawn from `rng`. Source: Williams (1949), Australian J. Scientific Research A 2, 149-168.
    """
    if glasses < 1 or tasters < 1:
        raise NothingToCode(glasses, tasters)
    rows: list[NDArray[np.int64]] = []
    while len(rows) < tasters:
        names = rng.permutation(glasses)
        for square in _williams(glasses):
            rows.extend(names[rng.permutation(square, axis=0)])
    return np.array(rows[:tasters])


def _williams(glasses: int) -> list[NDArray[np.int64]]:
    """Latin squares that together balance first-order carry-over: one when even, a mirrored pair when odd."""
    # first row 0, 1, k-1, 2, k-2, ...: each neighbouring difference occurs once; every further row adds one
    place = np.arange(glasses)
    first = np.where(place % 2, (place + 1) // 2, -(place // 2))
    square = (first + place[:, None]) % glasses
    return [square] if glasses % 2 == 0 or glasses == 1 else [square, square[:, ::-1]]
