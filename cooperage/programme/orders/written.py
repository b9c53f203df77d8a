"""Orders as they are written beforehand, and withdrawn: nothing of them is in the book."""

from datetime import date

from cooperage.book import Book, Cellar
from cooperage.book.declared.acts import KINDS, faces, figure_of, is_about_a_vessel
from cooperage.book.declared.allowed import LONGEST_NOTE, LONGEST_TEXT, check_text
from cooperage.book.declared.fields import Holds, is_required
from cooperage.book.declared.from_text import BadField, Texts, kind_named
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.programme.orders.kept import close, insert_order, next_number, order_numbered, orders_in, place_order
from cooperage.programme.orders.order import NoPlace, NotOpen, NotOrdered, Order, OrderState, WantsAReason
from cooperage.programme.several.dealt import dealt
from cooperage.programme.several.wanted import Ground, Wanted, exact_given, is_about_several, vessels_of, with_vessels
from cooperage.units import DEFAULT, Units


def write_order(
    book: Book, wanted: Wanted, day: date, *, note: str = "", hand: str = "", units: Units = DEFAULT
) -> Order:
    """Write an order; its vessels are named by their tags from then on, and its figures understood in any units.

    The figure that is only known when it is done may be left out. Nothing of it is in the book. Raises NotOrdered,
    BadField, and what `vessels_of` does.
    """
    cellar = book.cellar()
    check_text(hand, "the hand", LONGEST_TEXT)
    check_text(note, "the note", LONGEST_NOTE, lines=True)
    named = _with_tags(wanted, cellar, Ground(book, cellar, units))
    texts = {name: text for name, text in exact_given(named.kind, named.texts, {}, units).items() if text}
    each = {cellar[tag].tag: exact_given(named.kind, own, named.texts, units) for tag, own in named.each.items()}
    _check_given(named.kind, texts)
    with book.writing() as session:
        number = next_number(session.connection)
        order = Order(session.new_id(), number, day, number, named.kind, texts, each, note, hand, session.now)
        insert_order(session, order)
    return order


def _with_tags(wanted: Wanted, cellar: Cellar, ground: Ground) -> Wanted:
    """Check every tag that is named, and write several out. Raises NoSuchVessel."""
    kind = kind_named(wanted.kind)
    if not is_about_a_vessel(kind):
        raise NotOrdered(kind.kind)
    found = vessels_of(wanted, cellar, ground)
    if is_about_several(wanted, cellar):
        wanted = dealt(with_vessels(wanted, found, cellar), [standing.tag for standing in found])
    for _, face in faces(kind):
        text = face.canonical(wanted.texts.get(face.name, "")) if face.canonical else wanted.texts.get(face.name, "")
        if face.holds in (Holds.TAG, Holds.PLACE) and text.strip() and text not in OUTSIDE_IDS and "," not in text:
            _ = cellar[text].tag
    return wanted


def _check_given(kind: str, texts: Texts) -> None:
    """Refuse an order without a field that is needed, except for the figure that its doing will show."""
    figure = figure_of(KINDS[kind])
    for declared, face in faces(KINDS[kind]):
        if is_required(declared) and not texts.get(face.name) and face != figure:
            raise BadField(face.name, f"is needed to order this; give the {face.label}")


def withdraw(book: Book, number: str, why: str) -> Order:
    """Withdraw an order with its reason; raises NoSuchOrder, NotOpen, WantsAReason."""
    order = order_numbered(book, number)
    if not check_text(why, "the reason", LONGEST_TEXT).strip():
        raise WantsAReason
    with book.writing() as session:
        close(session, order, OrderState.WITHDRAWN, why=why.strip())
    return order_numbered(book, number)


def move_order(book: Book, number: str, *, before: str = "", after: str = "") -> Order:
    """Put an open order before or after another, on that one's day.

    Raises NoSuchOrder, NotOpen, NoPlace.
    """
    order, other = order_numbered(book, number), order_numbered(book, before or after)
    for each in (order, other):
        if each.state is not OrderState.OPEN:
            raise NotOpen(each.number, each.state)
    if order.id == other.id or bool(before) == bool(after):
        raise NoPlace(order.number)
    with book.writing() as session:
        that_day = [each for each in orders_in(session.connection) if each.day == other.day and each.id != order.id]
        at = next(nth for nth, each in enumerate(that_day) if each.id == other.id) + bool(after)
        for place, each in enumerate([*that_day[:at], order, *that_day[at:]], 1):
            place_order(session, each, other.day, place)
    return order_numbered(book, number)
