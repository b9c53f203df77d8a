"""Losses in columns and bars that read without colour, and warnings in a line each."""

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from textwrap import wrap

from rich.text import Text
from textual.app import App

from cooperage.book.declared.places import OUTSIDE
from cooperage.programme.ahead.lost import LossesSeen, is_beyond, over_usual
from cooperage.programme.ahead.usual import UsualLoss
from cooperage.programme.losses.ledger import LossRow, total_ml
from cooperage.programme.signs.all_signs import Sign
from cooperage.programme.today.words import sure_column
from cooperage.tui.shared.ink import TROUBLE, ink, state_shown
from cooperage.units import Quantity, Units, show, show_band, show_date, unit_written

_LABELS = {place.value: outside.label for place, outside in OUTSIDE.items()}
_ACROSS = " ▏▎▍▌▋▊▉█"
_ROW = "{:<22} {:>9} {:>7} {:>11} {:>9} {:<6} "
_BARREL = "{:<8} {:>8} {:>11} {:>8} {:<6} "
LOSSES_HEAD = _ROW.format("", "lost", "share", "barrel loss", "usual", "±").rstrip()
_BARREL_NARROW = "{:<8} {:>11} {:>8} {:<6} "
_NARROW = 70
"""Columns below which a barrel's line has no room for all it lost, only for what is held against its usual."""
_CAPTION = 25
"""Columns that are left to what the months show."""
_PHRASE_ENDS = re.compile(r"; |, | \(")
_SINCE_FROM = 100
"""Columns from which the list of warnings has room for since when."""


def head_words(by: str, width: int) -> str:
    """Return the names of the columns of `loss_text`."""
    if by != "barrel":
        return LOSSES_HEAD
    if width < _NARROW:
        return _BARREL_NARROW.format("vessel", "barrel loss", "usual", "±") + "  against it"
    return _BARREL.format("vessel", "lost", "barrel loss", "usual", "±") + "  against it"


def bar(part: int, whole: int, width: int) -> str:
    """Return a bar, `width` wide for the whole; a gain has none, a loss at least an eighth of a character."""
    if part <= 0 or whole <= 0:
        return ""
    full, rest = divmod(max(1, 8 * width * part // whole), 8)
    return "█" * full + (_ACROSS[rest] if rest else "")


def row_name(row: LossRow) -> str:
    """Return what a row is about, causes by their label."""
    return _LABELS.get(row.what, row.what)


def percent_of(part: int, whole: int, units: Units) -> str:
    """Return a part as per cent of the whole, "-" where there is no whole."""
    return show(Quantity.PERCENT, 100 * part / whole, units) if whole > 0 else "-"


def loss_text(row: LossRow, seen: LossesSeen, why: str, app: App[object], width: int, units: Units) -> Text:
    """Return a row of losses: of a barrel against its usual and why, of anything else its share with a bar."""
    if seen.by == "barrel":
        return _barrel_text(row, seen.usual, why, app, width, units)
    lost, taken = (show(Quantity.VOLUME, ml, units) for ml in (row.total_ml, row.taken_ml))
    share = percent_of(row.total_ml, seen.total_ml, units)
    cells = _ROW.format(row_name(row)[:22], lost, share, taken, *_usual(row, seen.usual, units))
    text = Text(no_wrap=True).append(cells, ink(app, "ink"))
    largest = max(each.total_ml for each in seen.rows)
    return text.append(bar(row.total_ml, largest, max(4, width - len(cells) - 1)), ink(app, "mead"))


def _usual(row: LossRow, usual: Mapping[str, UsualLoss], units: Units) -> tuple[str, str]:
    if row.what not in usual:
        return "-", ""
    norm = usual[row.what]
    band = show_band(Quantity.VOLUME, norm.ml, norm.ml - norm.reach_ml, norm.ml + norm.reach_ml, units)
    return show(Quantity.VOLUME, norm.ml, units), band


def _barrel_text(
    row: LossRow, usual: Mapping[str, UsualLoss], why: str, app: App[object], width: int, units: Units
) -> Text:
    lost, taken = (show(Quantity.VOLUME, ml, units) for ml in (row.total_ml, row.taken_ml))
    is_wrong = is_beyond(row, usual)
    norm = _usual(row, usual, units)
    is_narrow = width < _NARROW
    cells = _BARREL_NARROW.format(row.what, taken, *norm) if is_narrow else _BARREL.format(row.what, lost, taken, *norm)
    text = Text(no_wrap=True).append(cells, ink(app, "ember" if is_wrong else "ink"))
    words = against_words(row, usual, units)
    against = f"{TROUBLE} {words}" if is_wrong else f"  {words}"
    text.append(against, ink(app, "ember" if is_wrong else "quiet"))
    if why and text.cell_len + len(why) + 2 <= width:
        text.append(f", {why}", ink(app, "ember"))
    return text


def against_words(row: LossRow, usual: Mapping[str, UsualLoss], units: Units) -> str:
    """Return how a barrel did against its usual: "42.0 L more", "0.3 L less", "as usual"; empty if that is unknown."""
    over = over_usual(row, usual)
    if over is None:
        return ""
    if abs(over) <= usual[row.what].reach_ml:
        return "as usual"
    return f"{show(Quantity.VOLUME, abs(over), units)} {'more' if over > 0 else 'less'}"


def causes_words(row: LossRow, units: Units) -> str:
    """Return a row's losses by cause, the largest first."""
    causes = sorted(row.causes.items(), key=lambda item: -item[1])
    return f"{row_name(row)}: " + ", ".join(
        f"{_LABELS[cause]} {show(Quantity.VOLUME, ml, units)}" for cause, ml in causes
    )


def strip_texts(causes: Sequence[LossRow], app: App[object], width: int, units: Units) -> tuple[Text, Text]:
    """Return all causes in one strip, each as long as its share with a gap between, and their words in another line.

    At the end of the words stands what the months below it show.
    """
    whole, strip, words = total_ml(causes), Text(no_wrap=True), Text(no_wrap=True)
    for nth, row in enumerate(each for each in causes if each.total_ml > 0):
        length = max(1, (width - len(causes)) * row.total_ml // whole)
        strip.append("▆" * length + " ", ink(app, "mist" if nth % 2 else "mead"))
        named = f"{_cause(row)} {show(Quantity.PERCENT, 100 * row.total_ml / whole, units, digits=0)}"
        if words.cell_len + len(named) + 3 <= width - _CAPTION or not words.plain:
            words.append(" · " if words.plain else "", ink(app, "quiet"))
            words.append(named, ink(app, "quiet"))
    strip.truncate(width)
    caption = f"{unit_written(Quantity.VOLUME, units)}/month, ╌ usual ░ 90 %"
    words.append(f"{caption:>{max(0, width - words.cell_len)}}", ink(app, "quiet"))
    return strip, words


def _cause(row: LossRow) -> str:
    """Return a cause in as few words as name it: what stands in brackets, and after "or", is left out."""
    return row_name(row).partition(" (")[0].partition(" or ")[0]


def sign_text(sign: Sign, now: datetime, app: App[object], width: int) -> Text:
    """Return a warning in one line: vessel, kind, since when, how sure, and why as far as there is room.

    What of the reason finds no room stands below the list when the pointer is on the line.
    """
    day = "" if sign.since is None else show_date(sign.since, now)
    since = f"{day:<11} " if width >= _SINCE_FROM else ""
    mark, role = state_shown(sign.state)
    text = Text(no_wrap=True).append(f"{mark} {sign.vessel:<7} {sign.word:<13} ", ink(app, role))
    text.append(f"{since}{sure_column(sign):>5}  ", ink(app, "quiet"))
    return text.append(_whole(sign.why, width - text.cell_len), ink(app, "ink"))


def _whole(words: str, width: int) -> str:
    """Return as many whole phrases as there is room for; where the first has none, its words and that there is more."""
    if len(words) <= width:
        return words
    ends = [found.start() for found in _PHRASE_ENDS.finditer(words) if found.start() <= width]
    if ends:
        return words[: ends[-1]]
    return f"{next(iter(wrap(words, max(1, width - 1))), '')}…"
