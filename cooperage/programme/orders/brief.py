"""An order in so few words that it stands whole on a line: kind, figure, vessel, where to. Its note is elsewhere."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import FieldSpec
from cooperage.book.declared.from_text import read_fields
from cooperage.book.entry_text import EntryText
from cooperage.book.words import not_yet
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.order import Order
from cooperage.programme.orders.shown import order_words
from cooperage.programme.several.moved import main_ml
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.wanted import rate_in
from cooperage.units import DEFAULT, Quantity, Units, counted, show_trimmed

_FIGURE = "figure"
_OPTIONAL, _NAME = re.compile(r"\[([^]]*)\](?:<([^>]*)>)?"), re.compile(r"\{(\w+)\}")


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
    values = _values(checked, units)
    yield _filled(pattern, values)
    values |= {name: order.texts[name] for name in ("substance",) if name in order.texts}
    yield _filled(pattern, values)
    named = next((declared.name for declared, face in faces(KINDS[order.kind]) if face.name == order.list_field), "")
    if len(order.tags) > 1:
        yield _filled(pattern, values | {named: counted(len(order.tags), "vessel")})


def _filled(pattern: str, values: Mapping[str, str]) -> str:
    """Set values into a sentence."""

    def part(found: re.Match[str]) -> str:
        is_known = all(values.get(name) for name in _NAME.findall(found[1]))
        return found[1] if is_known else found[2] or ""

    return _NAME.sub(lambda found: values.get(found[1], ""), _OPTIONAL.sub(part, pattern))


def _values(checked: Checked, units: Units) -> dict[str, str]:
    """Return what is known of an order as text, by the names of its fields, and its figure."""
    order = checked.order
    rate = rate_in(order.kind, order.texts)
    texts = {name: shown_tags(text.split(",")) if "," in text else text for name, text in order.texts.items()}
    said = read_fields(order.kind, {**texts, KINDS[order.kind].proposed: ""} if rate else texts)
    writer = EntryText(not_yet(order.kind, said), units, of_visit=True)
    values = {name: writer.shown(name, value) for name, value in said.items()}
    values |= {name: str(said[name]) for name in ("treatment",) if name in said}  # its label is of what was done
    return values | {_FIGURE: rate or _figure(checked, said, values, units)}


def _figure(checked: Checked, said: Mapping[str, Any], values: Mapping[str, str], units: Units) -> str:
    """Return the figure: of each vessel where it is the same for all, or else what moves in all; empty if unknown."""
    order, figure = checked.order, figure_of(KINDS[checked.order.kind])
    name = _name_of(figure, order)
    many = len(order.tags) > 1
    if said.get(name) is not None and not order.each:
        return f"{values[name]}{' each' if many else ''}"
    moved = [ml for each in (checked.written or {}).values() if (ml := main_ml(each)) is not None]
    if figure is None or figure.holds is not Quantity.VOLUME or not moved:
        return ""
    return f"{show_trimmed(Quantity.VOLUME, sum(moved), units)}{' in all' if many else ''}"


def _name_of(figure: FieldSpec | None, order: Order) -> str:
    return next((declared.name for declared, face in faces(KINDS[order.kind]) if face == figure), "")
