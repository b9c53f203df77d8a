"""Losses as bars and numbers that read without colour, and signs of trouble in a line each."""

from collections.abc import Sequence

from cooperage.book.places import OUTSIDE
from cooperage.programme.losses import LossRow
from cooperage.programme.signs import Sign
from cooperage.units import Quantity, Units, show, show_day

_LABELS = {place.value: told.label for place, told in OUTSIDE.items()}
_ACROSS = " ▏▎▍▌▋▊▉█"
_NAME = 27
WORDS_WIDTH = _NAME + 1 + 12 + 1 + 7
"""How far the name and the numbers of a row of losses reach; then comes the bar."""

_SIGN = "{:<8} {:<9} {:<10}  {}"
SIGNS_HEAD = _SIGN.format("vessel", "sign", "since", "why")


def bar(part: int, whole: int, width: int) -> str:
    """A bar as wide as `width` when the part is the whole; a gain has none, a loss at least a sliver."""
    if part <= 0 or whole <= 0:
        return ""
    full, rest = divmod(max(1, 8 * width * part // whole), 8)
    return "█" * full + (_ACROSS[rest] if rest else "")


def name_of(row: LossRow) -> str:
    """Return what a row is about, causes by their label."""
    return _LABELS.get(row.what, row.what)


def loss_line(row: LossRow, rows: Sequence[LossRow], width: int, units: Units) -> str:
    """Tell a row: its name, litres, share of everything lost, and a bar against the largest."""
    largest = max(each.total_ml for each in rows)
    numbers = f"{show(Quantity.VOLUME, row.total_ml, units):>12} {share_words(row.total_ml, total_ml(rows), units):>7}"
    room = max(4, width - WORDS_WIDTH - 2)
    return f"{name_of(row)[:_NAME]:<{_NAME}} {numbers}  {bar(row.total_ml, largest, room)}"


def total_ml(rows: Sequence[LossRow]) -> int:
    """Return everything that was lost [ml]."""
    return sum(row.total_ml for row in rows)


def share_words(part: int, whole: int, units: Units) -> str:
    """Tell a part as per cent of the whole, "-" where there is no whole."""
    return show(Quantity.PERCENT, 100 * part / whole, units) if whole > 0 else "-"


def causes_words(row: LossRow, units: Units) -> str:
    """Tell a row's losses by cause, the largest first."""
    causes = sorted(row.causes.items(), key=lambda item: -item[1])
    return f"{name_of(row)}: " + ", ".join(
        f"{_LABELS[cause]} {show(Quantity.VOLUME, ml, units)}" for cause, ml in causes
    )


def sign_line(sign: Sign) -> str:
    """Tell a sign of trouble."""
    since = "" if sign.since is None else show_day(sign.since)
    return _SIGN.format(sign.vessel, sign.kind, since, sign.why)
