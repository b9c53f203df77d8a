"""What is shown of the row under the pointer: what to do and why; where there is room, a card of its vessel."""

from collections.abc import Iterator

from textual.content import Content

from cooperage.book import Standing
from cooperage.book.dangers.dangers import short_lines
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.losses.level import Level
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.words import check_words, does_words
from cooperage.programme.today.kinds import figure_now
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import figure_in_words, range_words, reason_words
from cooperage.tui.keys import pressed
from cooperage.tui.shared.gauges import about_lines, cautions_shown
from cooperage.tui.today.words import figure_cells, figure_columns
from cooperage.units import Quantity, Units, show

_ON_CARD = ("abv", "sugar_g_l", "ph", "free_so2_mg_l", "va_g_l")


def order_lines(ordered: Checked, units: Units) -> Content:
    """Return what doing an order as it stands would write, or why that cannot be."""
    if ordered.written is None:
        return Content(check_words(ordered))
    return Content(f"{pressed('yes')} writes  {does_words(ordered, units)}")


def matter_lines(matter: Matter, *, is_narrow: bool) -> Content:
    """Return what to do about a row, then what to mind or why; a narrow screen first has the reason its row lacks."""
    reason = f"{reason_words(matter)}. " if is_narrow and len(matter.vessels) == 1 else ""
    many = f"{range_words(matter)}, {reason_words(matter)}. " if len(matter.vessels) > 1 else ""
    lines = [Content(f"{reason}{many}{matter.do}".removeprefix(", "))]
    if matter.cautions:
        lines.append(Content.styled(f"Caution: {short_lines(matter.cautions)[0]}", "bold $honey"))
    elif not is_narrow:
        lines.append(Content.styled("; ".join(matter.why), "$quiet"))
    return Content("\n").join(lines)


def card(matter: Matter, standing: Standing, level: Level, units: Units) -> Content:
    """Return the card of a row: the vessel as it stands, why, what to do, what waiting costs, what to mind.

    Of several the worst is shown.
    """
    who, held = about_lines(standing, units, level)
    parts = [Content.styled(who, "bold"), Content(held), *_figures(standing, units)]
    parts += [Content(""), Content.styled(f"{matter.word}  {figure_in_words(matter)}", "bold")]
    parts += [Content(why) for why in matter.why]
    parts += [Content(""), Content(matter.do)]
    if matter.waiting_costs_l:
        stake = show(Quantity.VOLUME, round(1000 * matter.waiting_costs_l), units)
        parts.append(Content.styled(f"A month of waiting puts about {stake} at stake.", "$quiet"))
    if matter.cautions:
        parts += [Content(""), cautions_shown(matter.cautions)]
    return Content("\n").join(parts)


def _figures(standing: Standing, units: Units) -> Iterator[Content]:
    """Yield what is in it now: value on its point, band, unit, how long ago it was measured."""
    shown = [(name, figure_now(standing, name, units)) for name in _ON_CARD]
    known = [(name, figure) for name, figure in shown if figure is not None]
    columns = figure_columns(figure for _, figure in known)
    for name, figure in known:
        days = standing.days_since(name)
        age = "" if days is None else f"{days:.0f} d"
        value, rest = figure_cells(figure, columns)
        yield Content.assemble(f"{PROPERTIES[name].label:<17}{value} ", (f"{rest} {age}", "$quiet"))
