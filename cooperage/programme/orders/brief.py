"""An order in so few words that it stands whole on a line: kind, figure, vessel, where to. Its note is elsewhere."""

from collections.abc import Iterator

from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.sentence import FIGURE, KnownOrder, filled, known_of, name_of
from cooperage.programme.orders.shown import order_words
from cooperage.programme.several.moved import main_ml
from cooperage.programme.several.wanted import rate_in
from cooperage.units import DEFAULT, Quantity, Units, counted, show_trimmed


def brief_words(checked: Checked, units: Units = DEFAULT, width: int | None = None) -> str:
    """Return what is to be done: "add 13 g of potassium metabisulphite to B-033", "rack 223 L of B-005 to T-5".

    In fewer columns than that takes, substances go by their short names and many vessels by their number; what is still
    too long is cut.
    """
    found = ""
    for found in _ever_shorter(checked, units):
        if width is None or len(found) <= width:
            return found
    return f"{found[: max(0, (width or 0) - 1)]}…"


def _ever_shorter(checked: Checked, units: Units) -> Iterator[str]:
    order = checked.order
    pattern = KINDS[order.kind].brief
    if not pattern:
        yield order_words(order, units)
        return
    known = known_of(order, units)
    values = {**known.values, FIGURE: _figure(checked, known, units)}
    yield filled(pattern, values)
    values |= {name: order.texts[name] for name in ("substance",) if name in order.texts}
    yield filled(pattern, values)
    named = next((declared.name for declared, face in faces(KINDS[order.kind]) if face.name == order.list_field), "")
    if len(order.tags) > 1:
        yield filled(pattern, values | {named: counted(len(order.tags), "vessel")})


def _figure(checked: Checked, known: KnownOrder, units: Units) -> str:
    """Return the figure: of each vessel where it is the same for all, or else what moves in all; empty if unknown."""
    order, figure = checked.order, figure_of(KINDS[checked.order.kind])
    is_same = known.said.get(name_of(figure, order)) is not None and not order.each
    if is_same or rate_in(order.kind, order.texts):
        return known.values[FIGURE]
    moved = [ml for each in (checked.written or {}).values() if (ml := main_ml(each)) is not None]
    if figure is None or figure.holds is not Quantity.VOLUME or not moved:
        return ""
    return f"{show_trimmed(Quantity.VOLUME, sum(moved), units)}{' in all' if len(order.tags) > 1 else ''}"
