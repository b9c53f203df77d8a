"""An order done by one act: with what really came, the order closed in the same transaction, differences shown."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from cooperage.book import Act, Book, Cellar, Writing, Written
from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField, Texts
from cooperage.book.writing.rehearsal import Rehearsal
from cooperage.errors import CooperageError, did_you_mean
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.orders.kept import close, order_numbered
from cooperage.programme.orders.order import NotOpen, Order, OrderState
from cooperage.programme.orders.shown import differences
from cooperage.programme.several.dealt import dealt
from cooperage.programme.several.proposed import Meant, meant_by
from cooperage.programme.several.sheet import ActSheet, sheet_of
from cooperage.programme.several.wanted import Ground, Wanted, exact_given
from cooperage.programme.together import write_as_one
from cooperage.units import DEFAULT, Units, read_when

COMMON = ("when", "hand", "note", "sure")


@dataclass(frozen=True, slots=True)
class Done:
    """An order that was done: what was written, and by how much it differs from what was ordered."""

    order: Order
    written: tuple[Written, ...]
    differences: tuple[str, ...]


Before = Callable[[Sequence[Act], Cellar], None]
"""Called with the acts once the book takes them and before they hold, and with the cellar as it stood."""


def do_order(
    book: Book,
    number: str,
    changed: Texts | None = None,
    each: Mapping[str, Texts] | None = None,
    *,
    units: Units = DEFAULT,
    before: Before | None = None,
) -> Done:
    """Write an order's acts with what was changed, for all and for single vessels, and close it; or nothing.

    `changed` holds fields by their outside names, and when, hand, note and sure as `parse_act` takes them. Raises
    NoSuchOrder, NotOpen, and what `meant_by` and `write_as_one` do.
    """
    order, changed = order_numbered(book, number), dict(changed or {})
    if order.state is not OrderState.OPEN:
        raise NotOpen(order.number, order.state)
    at = read_when(changed["when"], book.now()) if changed.get("when") else None
    changed["when"] = "" if at is None else at.isoformat()
    cellar = cellar_now(book, at)
    ground = Ground(book, cellar, shown=units)
    common = {name: changed[name] for name in COMMON if name in changed}
    ordered = replace(order.wanted, texts={**order.texts, **common})
    meant = meant_by(_ordered_with(order, changed, each or {}, units), cellar, ground, always=True)
    rehearsed = _rehearsed(book, ordered, cellar, ground)

    def also(session: Writing, written: Sequence[Written]) -> None:
        close(session, order, OrderState.DONE, entries=[one.id for one in written])
        if before is not None:
            before([one.act for one in written], cellar)

    sure = changed.get("sure") == "yes"
    written = write_as_one(book, meant.acts, sure=sure, doubts=meant.doubts, also=also)
    done = dict(zip(meant.acts, written, strict=True))
    found = () if rehearsed is None else tuple(differences(rehearsed, done, units))
    return Done(order_numbered(book, number), tuple(written), found)


def _ordered_with(order: Order, changed: Texts, each: Mapping[str, Texts], units: Units) -> Wanted:
    """Return what is wanted with the changes; what is changed for all does not undo what was ordered for one.

    What was ordered for a vessel that is not named any more is dropped.
    """
    own = {name: text for name, text in changed.items() if name not in COMMON}
    tags = own.get(order.list_field, order.texts[order.list_field]).split(",")
    if len(tags) > 1:
        came = dealt(Wanted(order.kind, own, each), tags)
        own, each = {**came.texts}, came.each
    texts = {**order.texts, **exact_given(order.kind, own, order.texts, units)}
    singly = {tag: dict(theirs) for tag, theirs in order.each.items()}
    if order.list_field in own:
        there = texts[order.list_field].split(",")
        singly = {tag: theirs for tag, theirs in singly.items() if tag in there}
    for tag, theirs in each.items():
        known = next((known for known in singly if known.casefold() == tag.casefold()), tag)
        singly[known] = {**singly.get(known, {}), **exact_given(order.kind, theirs, texts, units)}
    return Wanted(order.kind, {**texts, **{name: changed[name] for name in COMMON if name in changed}}, singly)


def sheet_of_order(
    book: Book,
    order: Order,
    changed: Texts,
    each: Mapping[str, Texts],
    out: Collection[str] = (),
    units: Units = DEFAULT,
) -> ActSheet:
    """Return the sheet of an order with what is changed, without the vessels that are `out`; nothing is written.

    Raises BadField, NotATime, and what reading the cellar does.
    """
    at = read_when(changed["when"], book.now()) if changed.get("when") else None
    cellar = cellar_now(book, at)
    wanted = _ordered_with(order, {**changed, "when": "" if at is None else at.isoformat()}, each, units)
    return sheet_of(book, wanted, cellar, Ground(book, cellar, shown=units), out, units)


def _rehearsed(book: Book, wanted: Wanted, cellar: Cellar, ground: Ground) -> dict[str, Written] | None:
    """Return what would be written of the order as it stands; None where that cannot be, so nothing is compared."""
    try:
        meant = meant_by(wanted, cellar, ground, always=True)
        with book.reading() as connection:
            return _try(Rehearsal(connection, book.now()), meant)
    except CooperageError:
        return None


def _try(rehearsal: Rehearsal, meant: Meant) -> dict[str, Written]:
    return {tag: rehearsal.write(replace(act, at=None, sure=True)) for tag, act in meant.acts.items()}


def read_changes(order: Order, words: Sequence[str]) -> tuple[dict[str, str], dict[str, dict[str, str]]]:
    """Read changes typed as "volume=221.5 L", or as "B-003=20 L" for a single vessel: fields for all, and by tag.

    Raises BadField.
    """
    names = [face.name for _, face in faces(KINDS[order.kind]) if face.holds is not Holds.ENTRY]
    figure = figure_of(KINDS[order.kind])
    changed, each = dict[str, str](), dict[str, dict[str, str]]()
    for word in words:
        name, sign, value = (part.strip() for part in word.partition("="))
        if not sign:
            raise BadField(word, "is no change; write FIELD=VALUE, or TAG=FIGURE for one vessel")
        if name.casefold() in names:
            changed[name.casefold()] = value
        elif name.casefold() in {tag.casefold() for tag in order.tags} and figure is not None:
            each[name] = {figure.name: value}
        else:
            raise BadField(
                name, f"is no field of this order{did_you_mean(name, names, f'; its fields are {_listed(names)}')}"
            )
    return changed, each


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names)
