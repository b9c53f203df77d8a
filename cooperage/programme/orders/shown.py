"""An order in a line, and by how much what was done differs from what was ordered."""

from collections.abc import Mapping
from dataclasses import MISSING
from typing import Any

from cooperage.book import Act, Written
from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import FieldSpec, Holds
from cooperage.book.declared.from_text import Texts, read_fields
from cooperage.book.not_written import wanted_words
from cooperage.book.words import value_words
from cooperage.book.writing.write import words_of
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.several.moved import main_ml
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.wanted import rate_in
from cooperage.units import DEFAULT, Quantity, Units, show


def order_words(order: Order, units: Units = DEFAULT, *, note: bool = False) -> str:
    """Return what is to be done: "fill B-001..B-004: from T-1; B-003 20 L"."""
    texts = {name: _few_tags(text) for name, text in order.texts.items()}
    rate = rate_in(order.kind, order.texts)
    said = read_fields(order.kind, {**texts, KINDS[order.kind].proposed: ""} if rate else texts)
    named = _sentence(order.kind, said, rate, units) or _work(order.kind, said)
    line = wanted_words(order.kind, said, said.get("vessel"), units)
    if named:
        line += f"{', ' if ': ' in line else ': '}{named}"
    own = [f"{tag} {text}" for tag, text in _own(order, units).items()]
    again = ["done before, and struck"] if note and order.state is OrderState.OPEN and order.entries else []
    return "; ".join([line, *own, *([f"“{order.note}”"] if note and order.note else []), *again])


def _sentence(kind: str, said: dict[str, Any], rate: str, units: Units) -> str:
    """Take the fields of a kind's own sentence out and return it, with a blank for a figure that is not known yet."""
    pattern, figure = KINDS[kind].sentence, figure_of(KINDS[kind])
    own = {declared.name: declared for declared, face in faces(KINDS[kind]) if f"{{{declared.name}}}" in pattern}
    if not pattern or figure is None or all(name in said for name in own):
        return ""
    known = {name: said.get(name, declared.default) for name, declared in own.items()}
    values = {name: _BLANK if known[name] is MISSING else value_words(kind, known, name, units) for name in own}
    for name in own:
        said.pop(name, None)
    return pattern.format_map(values | ({KINDS[kind].proposed: rate} if rate else {}))


_BLANK = "…"


def _work(kind: str, said: dict[str, Any]) -> str:
    """Take what is done to a vessel out and return it by its own name: its label is of what was done."""
    done = [declared.name for declared, face in faces(KINDS[kind]) if face.choices and face.phrase == "{}"]
    return ", ".join(str(said.pop(name)) for name in done if name in said)


def _few_tags(text: str) -> str:
    return shown_tags(text.split(",")) if "," in text else text


def _own(order: Order, units: Units) -> dict[str, str]:
    """Return the figures of single vessels as text, by tag."""
    return {tag: ", ".join(_values(order, own, units)) for tag, own in order.each.items()}


def _values(order: Order, own: Texts, units: Units) -> list[str]:
    if rate := rate_in(order.kind, own):
        return [rate]
    said = read_fields(order.kind, {**order.texts, **own})
    named = [declared.name for declared, face in faces(KINDS[order.kind]) if face.name in own]
    return [value_words(order.kind, said, name, units) for name in named]


def differences(ordered: Mapping[str, Written], done: Mapping[str, Written], units: Units = DEFAULT) -> list[str]:
    """List by how much what was done differs from what was ordered, a line a difference, by the vessels' tags.

    "B-001: ordered 225.0 L, 221.5 L came".
    """
    lines = [f"{tag}: ordered, not done" for tag in ordered if tag not in done]
    for tag, written in done.items():
        if tag not in ordered:
            lines.append(f"{tag}: done, not ordered")
        else:
            lines += [f"{tag}: {line}" for line in _differences_of(ordered[tag], written, units)]
    return lines


def _differences_of(ordered: Written, done: Written, units: Units) -> list[str]:
    lines = []
    figure = KINDS[done.act.kind].proposed
    one, other = main_ml(ordered), main_ml(done)
    if one != other and one is not None and other is not None:
        came = [show(Quantity.VOLUME, ml, units) for ml in (one, other)]
        lines.append(f"ordered {came[0]}, {came[1]} came")
    for declared, face in faces(type(done.act)):
        moved = face.holds is Quantity.VOLUME and declared.name == figure
        if not moved and getattr(ordered.act, declared.name) != getattr(done.act, declared.name):
            lines.append(_field_difference(face, declared.name, ordered.act, done.act, units))
    return lines


def _field_difference(face: FieldSpec, name: str, ordered: Act, done: Act, units: Units) -> str:
    if face.holds is Holds.FLAG:
        return f"{face.label}{'' if getattr(done, name) else ' was ordered, and is not so'}"
    one, other = (_given(act, name, units) for act in (ordered, done))
    return f"{face.label}: ordered {one}, done with {other}"


def _given(act: Act, name: str, units: Units) -> str:
    return value_words(act.kind, words_of(act), name, units) if getattr(act, name) else "none"
