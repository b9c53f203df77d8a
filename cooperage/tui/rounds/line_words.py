"""What the line means as it is typed: what Enter would do, or what is not understood yet."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from textual.content import Content

from cooperage.book import Cellar
from cooperage.book.vessel_words import chalked_place
from cooperage.errors import BadInput
from cooperage.programme.orders.at_stops import done_by_acts
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.order import Order
from cooperage.programme.walk.announced import announced
from cooperage.programme.walk.slips import NotAWord
from cooperage.programme.walk.stop_line import StopActs, parse_stop_line
from cooperage.programme.walk.stops import Stop, still_to_do
from cooperage.tui.on_screen import said
from cooperage.units import Units

_MOST_NEAR = 6


@dataclass(frozen=True, slots=True)
class Understood:
    """A line as it is understood: a vessel to go to, or acts with the words that announce them, or why it is neither.

    `orders` are those that the acts do, by the place of the act. `is_growing` is True while what is not understood may
    only not be typed to its end.
    """

    words: Content
    tag: str = ""
    acts: StopActs | None = None
    named: tuple[str, ...] = ()
    orders: Mapping[int, Order] = field(default_factory=dict)
    error: BadInput | None = None
    is_growing: bool = False


def understand(
    stop: Stop | None,
    text: str,
    given: Mapping[str, str],
    cellar: Cellar,
    now: datetime,
    units: Units,
    checked: Iterable[Checked] = (),
) -> Understood:
    """Understand a line typed at a stop, or at none; nothing is written. A bare figure is never a tag."""
    typed = text.strip()
    if typed in cellar and not _is_figure(typed):
        standing = cellar[typed]
        return Understood(_led("Enter goes to ", f"{standing.tag}  {chalked_place(standing.position)}"), standing.tag)
    if stop is None:
        return Understood(_near(typed, cellar) or Content("No stop is at hand: type or scan a tag."))
    try:
        acts = parse_stop_line(stop, text, given, now, units)
    except BadInput as error:
        return _not_understood(error, text, cellar, units)
    named = announced(acts, cellar, units)
    if acts.left:
        named = (f"{acts.left}: {still_to_do(stop)}",)
    orders = done_by_acts(acts.acts, checked)
    named += tuple(f"does order {order.number}" for order in orders.values())
    return Understood(_led("Enter writes ", " · ".join(named)), acts=acts, named=named, orders=orders)


def _not_understood(error: BadInput, text: str, cellar: Cellar, units: Units) -> Understood:
    is_growing = isinstance(error, NotAWord) and error.place[1] == len(text)
    near = _near(text.strip(), cellar)
    if near and is_growing:
        return Understood(near, error=error, is_growing=True)
    if isinstance(error, NotAWord) and is_growing:
        nearest = f" Nearest: {error.nearest}." if error.nearest else ""
        return Understood(Content(f"Not a word yet: “{error.word}”.{nearest}"), error=error, is_growing=True)
    return Understood(Content.styled(f"▲ {said(error, units)}", "bold $ember"), error=error)


def _led(lead: str, words: str) -> Content:
    return Content.assemble((lead, "bold"), " ", words)


def _near(typed: str, cellar: Cellar) -> Content:
    """Return the tags that have what is typed, if that may be the beginning of one."""
    if not (typed[:1].isupper() and " " not in typed):
        return Content("")
    near = [standing.tag for standing in cellar if typed.upper() in standing.tag.upper()][:_MOST_NEAR]
    return Content(f"Tags: {'  '.join(near)}") if near else Content("")


def _is_figure(typed: str) -> bool:
    return typed.replace(".", "").replace(",", "").isdigit()


def rows_when_empty(
    todo: Sequence[str],
    in_order: Sequence[str],
    message: Content,
    *,
    most: int,
    width: int,
    is_open: bool,
    ordered: str = "",
) -> list[Content]:
    """Return what to show while nothing is typed: what was just written, what is to do here, what the signs do.

    Of `todo`, at length and in short, stands what there is room for in `most` rows. While an order can be done, + does
    that.
    """
    yes = f" writes {' · '.join(in_order)}" if in_order else ""
    yes = f" writes {ordered}" if ordered else yes
    signs = [Content.assemble(("+", "bold"), yes)] if yes else []
    if is_open:
        signs += [
            Content.assemble((sign, "bold"), words) for sign, words in (("-", " skips it"), ("*", " out of reach"))
        ]
    acts = _whole(signs, width)
    taken = sum(row.get_height({}, width) for row in (message, acts) if row)
    fits = (row for row in map(Content, todo) if taken + row.get_height({}, width) <= most)
    return [row for row in (message, next(fits, Content("")), acts) if row]


def _whole(signs: Iterable[Content], width: int) -> Content:
    """Set what the signs do beside one another, in as many rows as keep each of them whole."""
    rows: list[Content] = []
    for sign in signs:
        beside = Content("   ").join([rows[-1], sign]) if rows else sign
        rows[-1:] = [beside] if beside.cell_length <= width else [*rows[-1:], sign]
    return Content("\n").join(rows)
