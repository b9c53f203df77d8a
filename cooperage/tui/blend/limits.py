"""The limits of a brief as a table: what is wanted, what the blend comes to, how surely, at what price."""

from collections.abc import Sequence
from textwrap import wrap

from rich.text import Text

from cooperage.blending.answer.limit_rows import LimitRow, State
from cooperage.tui.blend.words import Inks
from cooperage.tui.shared.ink import DONE, DUE, TROUBLE

_MARKS: dict[State, tuple[str, str]] = {"missed": (TROUBLE, "ember"), "unsure": (DUE, "honey"), "met": (DONE, "rain")}
_NAME, _WANTED, _COMES, _BAND, _UNIT, _CHANCE = 11, 12, 8, 6, 6, 7
_WITH_PRICE, _WITH_BAND = 74, 50
"""From so many columns on there is room for the price of a limit, for the band and unit of a figure."""


def limits_table(rows: Sequence[LimitRow], together: str, width: int, inks: Inks) -> Text:
    """Draw a row for each limit under a head, figures on their point, and how sure all are together."""
    points = _on_the_point([row.comes_to for row in rows])
    lines = [Text(_head(width), inks("quiet"))]
    lines += [_line(row, comes_to, width, inks) for row, comes_to in zip(rows, points, strict=True)]
    if together:
        lines += [Text(f"  {part}", inks("quiet")) for part in wrap(together, max(20, width - 2))]
    return Text("\n").join(lines)


def _head(width: int) -> str:
    band = f" {'±':<{_BAND}}{'':<{_UNIT}}" if width >= _WITH_BAND else ""
    price = "  what it costs" if width >= _WITH_PRICE else ""
    return f"  {'limit':<{_NAME}}{'wanted':>{_WANTED}} {'comes to':>{_COMES}}{band}{'chance':>{_CHANCE}}{price}"


def _line(row: LimitRow, comes_to: str, width: int, inks: Inks) -> Text:
    mark, role = _MARKS[row.state]
    text = Text()
    text.append(f"{mark} ", inks(role)).append(f"{row.name[: _NAME - 1]:<{_NAME}}")
    text.append(f"{row.wanted:>{_WANTED}}", inks("quiet")).append(f" {comes_to:>{_COMES}}")
    if width >= _WITH_BAND:
        text.append(f" {row.band:<{_BAND}}{row.unit:<{_UNIT}}", inks("quiet"))
    text.append(f"{row.chance:>{_CHANCE}}", inks("honey" if row.state == "unsure" else "quiet"))
    if width >= _WITH_PRICE:
        text.append(f"  {row.price}", inks("quiet"))
    return text


def _on_the_point(numbers: Sequence[str]) -> list[str]:
    """Return numbers with blanks behind, so that set flush right their decimal points stand under each other."""
    lengths = [_behind_point(number) for number in numbers]
    most = max(lengths, default=0)
    return [f"{number}{' ' * (most - length)}" for number, length in zip(numbers, lengths, strict=True)]


def _behind_point(number: str) -> int:
    """Return how many characters the decimal point and what follows it take."""
    point = max(number.rfind("."), number.rfind(","))
    return len(number) - point if point >= 0 else 0
