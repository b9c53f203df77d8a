"""From where to where a rule holds: ">= 7, <= 14", "> 22", "= 750"."""

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from cooperage.errors import BadInput

_PART = re.compile(r"(<=|>=|<|>|=)\s*(\d+(?:\.\d+)?)")


class NotASpan(BadInput):
    """A text that is no limit."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is no limit; write it as '<= 200', '> 10' or '>= 7, <= 14'")


@dataclass(frozen=True, slots=True)
class RuleSpan:
    """One or two comparisons with exact decimals; without any everything lies in it."""

    parts: tuple[tuple[str, Decimal], ...] = ()

    def holds(self, value: float | Decimal) -> bool:
        """Return True if a value lies in it; a float is taken as it is written, to nine decimals."""
        exact = exactly(value)
        return all(_holds(exact, sign, bound) for sign, bound in self.parts)

    @property
    def bounds(self) -> tuple[Decimal, ...]:
        """The numbers it names, rising."""
        return tuple(sorted(bound for _, bound in self.parts))

    @property
    def bound(self) -> Decimal:
        """The number of a limit that has one; raises ValueError for any other."""
        [(_, bound)] = self.parts
        return bound

    def __str__(self) -> str:
        return ", ".join(f"{sign} {bound}" for sign, bound in self.parts)


def exactly(value: float | Decimal) -> Decimal:
    """Return a number as a decimal; a float to nine decimals, so that 13.5 less 12.0 is 1.5."""
    return value if isinstance(value, Decimal) else Decimal(str(round(value, 9)))


def _holds(value: Decimal, sign: str, bound: Decimal) -> bool:
    if sign == "=":
        return value == bound
    if value == bound:
        return sign.endswith("=")
    return (value < bound) == sign.startswith("<")


@cache
def parse_span(text: str) -> RuleSpan:
    """Read a span; an empty text is everything. Raises NotASpan."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    found = [_PART.fullmatch(part) for part in parts]
    if not all(found):
        raise NotASpan(text)
    return RuleSpan(tuple((each[1], Decimal(each[2])) for each in found if each))
