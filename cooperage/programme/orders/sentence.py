"""The sentence of an order by its kind: "rack 50 L of B-1 to T-1", from what is known of it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import FieldSpec
from cooperage.book.declared.from_text import read_fields
from cooperage.book.entry_text import EntryText
from cooperage.book.words import not_yet
from cooperage.programme.orders.order import Order
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.wanted import rate_in
from cooperage.units import DEFAULT, Units

FIGURE = "figure"
"""What stands in a sentence for the figure of its kind."""
_OPTIONAL, _NAME = re.compile(r"\[([^]]*)\](?:<([^>]*)>)?"), re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class KnownOrder:
    """What is known of an order: its fields as they are read, and each as text, its figure too, by their names."""

    said: Mapping[str, Any]
    values: Mapping[str, str]


def known_of(order: Order, units: Units = DEFAULT) -> KnownOrder:
    """Return what is known of an order; its figure is that of each vessel where there are several."""
    rate = rate_in(order.kind, order.texts)
    texts = {name: shown_tags(text.split(",")) if "," in text else text for name, text in order.texts.items()}
    said = read_fields(order.kind, {**texts, KINDS[order.kind].proposed: ""} if rate else texts)
    writer = EntryText(not_yet(order.kind, said), units, of_visit=True)
    values = {name: writer.shown(name, value) for name, value in said.items()}
    values |= {name: str(said[name]) for name in ("treatment",) if name in said}  # its label is of what was done
    name = name_of(figure_of(KINDS[order.kind]), order)
    each = " each" if len(order.tags) > 1 else ""
    return KnownOrder(said, values | {FIGURE: rate or (f"{values[name]}{each}" if said.get(name) is not None else "")})


def name_of(figure: FieldSpec | None, order: Order) -> str:
    """Return the field that holds a figure; empty where there is none."""
    return next((declared.name for declared, face in faces(KINDS[order.kind]) if face == figure), "")


def filled(pattern: str, values: Mapping[str, str]) -> str:
    """Set values into a sentence; what stands in [ ] is left out where a value of it is not known."""

    def part(found: re.Match[str]) -> str:
        return found[1] if _is_known(found[1], values) else found[2] or ""

    return _NAME.sub(lambda found: values.get(found[1], ""), _OPTIONAL.sub(part, pattern))


def named_in(pattern: str, values: Mapping[str, str]) -> set[str]:
    """Return the names whose values stand in a sentence that is filled."""
    left_out = (part for part, _ in _OPTIONAL.findall(pattern) if not _is_known(part, values))
    return set(_NAME.findall(pattern)) - {name for part in left_out for name in _NAME.findall(part)}


def _is_known(part: str, values: Mapping[str, str]) -> bool:
    return all(values.get(name) for name in _NAME.findall(part))
