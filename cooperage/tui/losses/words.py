"""Losses as bars and numbers that read without colour, and warnings in a line each."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.places import OUTSIDE
from cooperage.programme.losses.ledger import LossRow, total_ml
from cooperage.programme.signs.all_signs import Sign
from cooperage.units import Quantity, Units, show, show_day

_LABELS = {place.value: outside.label for place, outside in OUTSIDE.items()}
_ACROSS = " ▏▎▍▌▋▊▉█"
_ROW = "{:<27} {:>10} {:>7} {:>11} {:>10}"
LOSSES_HEAD = _ROW.format("", "lost", "share", "barrel loss", "usual")
WORDS_WIDTH = len(LOSSES_HEAD)
"""How far the name and the numbers of a row of losses reach; then comes the bar."""

_SIGN = "{:<8} {:<11} {:<10}  {}"
SIGNS_HEAD = _SIGN.format("vessel", "warning", "since", "why")


def bar(part: int, whole: int, width: int) -> str:
    """Return a bar, `width` wide for the whole; a gain has none, a loss at least an eighth of a character."""
    if part <= 0 or whole <= 0:
        return ""
    full, rest = divmod(max(1, 8 * width * part // whole), 8)
    return "█" * full + (_ACROSS[rest] if rest else "")


def row_name(row: LossRow) -> str:
    """Return what a row is about, causes by their label."""
    return _LABELS.get(row.what, row.what)


def loss_line(row: LossRow, rows: Sequence[LossRow], usual: Mapping[str, int], width: int, units: Units) -> str:
    """Return a row: its name, volume lost, share of all losses, barrel loss, usual loss, and a bar.

    The bar is drawn against the largest loss.
    """
    largest = max(each.total_ml for each in rows)
    lost, taken = (show(Quantity.VOLUME, ml, units) for ml in (row.total_ml, row.taken_ml))
    norm = show(Quantity.VOLUME, usual[row.what], units) if row.what in usual else "-"
    share = percent_of(row.total_ml, total_ml(rows), units)
    text = _ROW.format(row_name(row)[:27], lost, share, taken, norm)
    return f"{text}  {bar(row.total_ml, largest, max(4, width - WORDS_WIDTH - 2))}"


def percent_of(part: int, whole: int, units: Units) -> str:
    """Return a part as per cent of the whole, "-" where there is no whole."""
    return show(Quantity.PERCENT, 100 * part / whole, units) if whole > 0 else "-"


def causes_words(row: LossRow, units: Units) -> str:
    """Return a row's losses by cause, the largest first."""
    causes = sorted(row.causes.items(), key=lambda item: -item[1])
    return f"{row_name(row)}: " + ", ".join(
        f"{_LABELS[cause]} {show(Quantity.VOLUME, ml, units)}" for cause, ml in causes
    )


def sign_line(sign: Sign) -> str:
    """Return a warning in one line."""
    since = "" if sign.since is None else show_day(sign.since)
    return _SIGN.format(sign.vessel, sign.kind, since, sign.why)
