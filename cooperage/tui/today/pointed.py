"""What is shown of the row under the pointer: what to do and why; where there is room, a card of its vessel."""

from collections.abc import Iterator

from rich.style import Style
from rich.text import Text

from cooperage.book import Book, Standing
from cooperage.book.dangers.dangers import Caution, short_lines
from cooperage.programme.losses.level import Level
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.words import check_words, does_words
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.planned import PlannedFlight
from cooperage.programme.today.words import figure_in_words, range_words, reason_words
from cooperage.tui.keys import pressed
from cooperage.tui.shared.gauges import about_lines, figure_rows
from cooperage.tui.today.words import Ink
from cooperage.units import Quantity, Units, show

_ON_CARD = ("abv", "sugar_g_l", "ph", "free_so2_mg_l", "va_g_l")


def order_lines(ordered: Checked, units: Units, ink: Ink) -> list[Text]:
    """Return what doing an order as it stands would write, or why that cannot be; what Enter does; its note."""
    does = f"{pressed('yes')} writes {does_words(ordered, units)}" if ordered.written else check_words(ordered)
    again = "done before, and struck" if ordered.order.entries else ""
    note = "; ".join(filter(None, (f"“{ordered.order.note}”" if ordered.order.note else "", again)))
    enter = f"{pressed('enter')} opens it."
    return [Text(does), Text.assemble(enter, (f"  {note}" if note else "", ink("quiet")))]


def flight_lines(planned: PlannedFlight, book: Book, hand: str, ink: Ink) -> list[Text]:
    """Return what pouring a flight would do, of which barrels; what Enter does."""
    from cooperage.tasting.pulling import last_pull, pull_words  # brings what pouring needs: the page opens without it

    pull = pull_words(last_pull(book, hand))
    does = f"{pressed('yes')} pours it blind, with a sample of {pull} from each: {', '.join(planned.tags)}."
    where = f"trial {planned.trial}" if planned.trial else "the panel"
    return [Text(does), Text(f"{pressed('enter')} goes to {where}.", ink("quiet"))]


def enter_words(matter: Matter, ordered: Checked | None) -> str:
    """Return where Enter goes from a row: to the order that is for it, to the rounds, to the vessel."""
    if ordered is not None:
        return f"{pressed('enter')} opens order {ordered.order.number}."
    if matter.is_on_walk and len(matter.vessels) > 1:
        return f"{pressed('enter')} goes to the rounds."
    return f"{pressed('enter')} opens {matter.vessels[0]}."


def matter_lines(matter: Matter, enter: str, ink: Ink, *, is_short: bool) -> list[Text]:
    """Return what to do about a row and what Enter does, then what to mind or why.

    Where it `is_short` the reason in few words comes first, unless there is something to mind, and none in full.
    """
    lacks_reason = is_short and len(matter.vessels) == 1 and not matter.cautions
    reason = f"{reason_words(matter)}. " if lacks_reason else ""
    many = ", ".join(filter(None, (range_words(matter), reason_words(matter)))) if len(matter.vessels) > 1 else ""
    to_do = f"{reason}{f'{many}. ' if many else ''}{matter.do} {enter}"
    if matter.cautions:
        return [Text.assemble(f"{to_do} ", (f"Caution: {matter.cautions[0].line}.", ink("honey")))]
    return [Text(to_do), *([] if is_short else [_styled("; ".join(matter.why), ink("quiet"))])]


def _cautions(found: tuple[Caution, ...], ink: Ink) -> Iterator[Text]:
    for nth, line in enumerate(short_lines(found)):
        yield _styled(f"{'' if nth else 'Caution: '}{line}", ink("honey"))


def _styled(words: str, style: Style | str) -> Text:
    """Return words in a style that a list draws: it draws what stands in a text, not what the text stands on."""
    return Text.assemble((words, style))


def card(matter: Matter, enter: str, standing: Standing, level: Level, units: Units, ink: Ink) -> list[Text]:
    """Return the card of a row: the vessel as it stands, why, what to do, what waiting costs, what to mind.

    What Enter does stands with what to do. Of several the worst is shown.
    """
    who, held = about_lines(standing, units, level)
    parts = [_styled(who, "bold"), Text(held), *_figures(standing, units, ink)]
    parts += [Text(""), _styled(f"{matter.word}  {figure_in_words(matter)}", "bold")]
    parts += [Text(why) for why in matter.why]
    parts += [Text(""), Text(f"{matter.do} {enter}")]
    if matter.waiting_costs_l:
        stake = show(Quantity.VOLUME, round(1000 * matter.waiting_costs_l), units)
        parts.append(_styled(f"A month of waiting puts about {stake} at stake.", ink("quiet")))
    return [*parts, Text(""), *_cautions(matter.cautions, ink)]


def _figures(standing: Standing, units: Units, ink: Ink) -> Iterator[Text]:
    """Yield what is in it now."""
    for label, value, rest in figure_rows(standing, _ON_CARD, units):
        yield Text.assemble(label, value, (rest, ink("quiet")))
