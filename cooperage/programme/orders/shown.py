"""An order in a line, and by how much what was done differs from what was ordered."""

from collections.abc import Mapping, Sequence

from cooperage.book import Act, Written
from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import FieldSpec, Holds
from cooperage.book.declared.from_text import Texts, read_fields
from cooperage.book.not_written import wanted_words
from cooperage.book.words import value_words
from cooperage.book.writing.write import words_of
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.sentence import FIGURE, filled, known_of, name_of, named_in
from cooperage.programme.several.moved import main_ml
from cooperage.programme.several.wanted import rate_in
from cooperage.units import DEFAULT, Quantity, Units, show

_SHOWN_BY: Mapping[Holds | Quantity, Sequence[str]] = {
    Holds.VALUE: ("property",),
    Holds.SPREAD: ("property", "value"),
    Holds.AMOUNT: ("substance",),
}
"""The fields without which a field cannot be shown: what it is a figure of."""


def order_words(order: Order, units: Units = DEFAULT, *, note: bool = False) -> str:
    """Return what is to be done: "fill B-001..B-004 from T-1; B-003 20 L", and what its sentence has no place for."""
    own = [f"{tag} {text}" for tag, text in _own(order, units).items()]
    again = ["done before, and struck"] if note and order.state is OrderState.OPEN and order.entries else []
    said = [f"“{order.note}”"] if note and order.note else []
    return "; ".join([_sentence(order, units), *own, *said, *again])


def _sentence(order: Order, units: Units) -> str:
    """Return the sentence of an order, and behind it the fields that stand nowhere in it."""
    kind, known = KINDS[order.kind], known_of(order, units)
    if not kind.brief:
        return wanted_words(order.kind, known.said, known.said.get("vessel"), units)
    named = named_in(kind.brief, known.values)
    named |= {name_of(figure_of(kind), order)} if FIGURE in named else set()
    missing = {name for name in known.said if name not in named}
    holds = [face.holds for declared, face in faces(kind) if declared.name in missing]
    missing |= {of for each in holds for of in _SHOWN_BY.get(each, ())}
    rest = {name: known.said[name] for name in known.said if name in missing}
    besides = wanted_words(order.kind, rest, None, units).partition(": ")[2] if rest else ""
    return f"{filled(kind.brief, known.values)}{f', {besides}' if besides else ''}"


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
