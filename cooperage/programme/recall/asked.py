"""A recall asked of the book: forward from where something begins, or back from what a bottling or a vessel holds."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from cooperage.book import Book
from cooperage.book.declared.acts import KINDS
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import hands_in
from cooperage.book.store.found_entry import entry_by_id
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import ENTRY, VESSEL
from cooperage.book.trace import back_trace, bottled_back, lot_trace, onward
from cooperage.book.tracing.back import Back, Origins
from cooperage.book.tracing.flows import Edges
from cooperage.book.tracing.histories import LAST, Histories
from cooperage.book.tracing.names import Names
from cooperage.book.tracing.onward import FoundOnward
from cooperage.book.tracing.starts import Narrowed, bottles_moved
from cooperage.book.tracing.subject import Subject, subject_of
from cooperage.errors import BadInput, did_you_mean
from cooperage.programme.recall.bottled import BottledPart, bottled_parts, poured_back, with_holders
from cooperage.programme.recall.found import Recall, RecallDose, RecallRow
from cooperage.programme.recall.honeys import honey_edges, honeys_behind
from cooperage.programme.recall.tree import laid_out
from cooperage.units import ALWAYS, Span, show_day, show_span

FORWARD, BACK = "forward", "back"


@dataclass(frozen=True, slots=True)
class RecallQuestion:
    """What is asked: a code, a hand, a span, each of them or some; and which way ("" is the usual one)."""

    code: str = ""
    hand: str = ""
    span: Span = ALWAYS
    direction: str = ""


class NothingAsked(BadInput):
    """A recall of nothing."""

    def __init__(self) -> None:
        super().__init__("name what to trace: a code, a tag, an entry, --hand NAME, or --since and --until")


class NoSuchHand(BadInput):
    """A hand that wrote nothing."""

    def __init__(self, hand: str, known: Iterable[str]) -> None:
        self.hand = hand
        super().__init__(
            f"no entry is by '{hand}'{did_you_mean(hand, known, '; `cooperage report book` shows the hands')}"
        )


class NoWayBack(BadInput):
    """Back from what has nothing before it in the book, or is no single thing."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} is followed forward; back goes from a bottling or a vessel")


class SpanLiesAhead(BadInput):
    """A span that has not begun: nothing was done in it."""

    def __init__(self, start: datetime) -> None:
        self.start = start
        super().__init__(f"{show_day(start)} lies ahead; a trace is of what was done up to now: correct the day")


def recall(book: Book, question: RecallQuestion) -> Recall:
    """Answer a recall; raises NothingAsked, SpanLiesAhead, NothingToTrace, NoSuchHand, NoWayBack, StruckNotTraced."""
    if not (question.code or question.hand or question.span != ALWAYS):
        raise NothingAsked
    if question.span.start is not None and question.span.start > book.now():
        raise SpanLiesAhead(question.span.start)
    with book.reading() as connection:
        registry = Registry(connection)
        subject = subject_of(connection, registry, question.code) if question.code else None
        names, histories = Names(connection, registry), Histories(connection)
        hand = _hand_meant(connection, question.hand)
        if _direction(question, subject) == FORWARD:
            meant = Narrowed(hand, question.span.start, question.span.last)
            moved = bottles_moved(connection, subject, meant)
            reach = onward(connection, histories, subject, meant, poured_back(connection, histories, moved))
            parts = bottled_parts(connection, reach, names, moved)
            return _forward(_title(connection, subject, question, hand), subject, reach, names, parts)
        if subject is None or hand or subject.kind in ("lot", "entry"):
            raise NoWayBack(subject.code if subject is not None and not hand else "what a hand or a span did")
        origins = _origins(connection, subject, histories, registry, question.span.seen_at(book.now()) or book.now())
        return _back(connection, subject, origins, names)


def _direction(question: RecallQuestion, subject: Subject | None) -> str:
    if question.direction:
        return question.direction
    is_back = subject is not None and (subject.kind == "bottling" or subject.is_vessel) and not question.hand
    return BACK if is_back else FORWARD


def _hand_meant(connection: Connection, hand: str) -> str:
    """Return the hand as it is written in the book; one exactly so, else one in other capitals."""
    if not hand:
        return ""
    if connection.execute(select(ENTRY.c.id).where(ENTRY.c.hand == hand).limit(1)).first() is not None:
        return hand
    known = hands_in(connection)
    found = [each for each in known if each.upper() == hand.strip().upper()]
    if not found:
        raise NoSuchHand(hand, known)
    return found[0]


def _title(connection: Connection, subject: Subject | None, question: RecallQuestion, hand: str) -> str:
    """Return what is traced: "keg K-01, by Jory, to 2025-11-30", "entries by Jory", "topping of B-001, 2026-11-18"."""
    by, span = f"by {hand}" if hand else "", show_span(question.span)
    if subject is None:
        return ", ".join(part for part in (f"entries {by}".rstrip(), span) if part)
    what = _entry_words(connection, subject.id) if subject.kind == "entry" else subject.name
    return ", ".join(part for part in (what, by, span) if part)


def _entry_words(connection: Connection, entry: str) -> str:
    row = entry_by_id(connection, entry)
    vessel = connection.execute(select(VESSEL.c.tag).where(VESSEL.c.id == row.vessel_id)).scalar()
    of = f" of {vessel}" if vessel else ""
    return f"entry {entry[:ID_LETTERS]}, {KINDS[row.kind].label}{of}, {show_day(row.happened_at)}"


def _origins(
    connection: Connection, subject: Subject, histories: Histories, registry: Registry, at: datetime
) -> Origins:
    if subject.kind == "bottling":
        return bottled_back(connection, subject.filled, histories, registry)
    history = histories.of(subject.id)
    before = [passage.key for passage in history.passages if passage.at > at]
    return Back(histories, registry).of_vessel(subject.id, before[0] if before else LAST, at)


# --- forward --------------------------------------------------------------------------------------------------------


def _forward(
    title: str, subject: Subject | None, reach: FoundOnward, names: Names, parts: Sequence[BottledPart]
) -> Recall:
    gained = reach.gained + sum(part.gained for part in parts)
    whole = reach.began + gained + sum(part.began for part in parts)
    names.learn(_places(reach.edges))
    found = Recall(title, FORWARD, whole, "" if subject is None else subject.kind, gained_ml=gained)
    found.rows = [*(part.row(whole) for part in parts if part.ml), *_placed_rows(reach, names, whole)]
    found.rows.sort(key=lambda row: (("bottling", "vessel", "lost", "passed").index(row.kind), -row.ml, row.place))
    starts = {subject.id: whole} if subject is not None and subject.kind == "lot" else reach.starts
    for part in parts:
        starts = starts | ({part.entry: starts.get(part.entry, 0.0) + part.began} if part.began else {})
    found.tree = laid_out(with_holders(reach.edges, parts), starts, names, whole)
    found.hands = sorted({*_hands(reach.edges), *(hand for part in parts for hand in part.hands if hand)})
    if subject is not None and subject.kind == "lot":
        found.trace = lot_trace(subject, reach, names)
    return found


def _placed_rows(reach: FoundOnward, names: Names, whole: float) -> Iterator[RecallRow]:
    """Yield the vessels that hold some of it, the outside places, and the vessels it passed through."""
    arrived = _arrived(reach.edges)
    passed = {vessel: ml for vessel, ml in reach.into.items() if vessel not in reach.now}
    for kind, places in (("vessel", reach.now), ("lost", reach.lost), ("passed", passed)):
        for place, ml in places.items():
            first, last, hands = arrived.get(place, (None, None, ()))
            part = ml / reach.wholes[place] if kind == "vessel" else None
            yield RecallRow(kind, names.of(place), ml, ml / whole, part, first, last, hands)


def _arrived(edges: Edges) -> dict[str, tuple[datetime | None, datetime | None, tuple[str, ...]]]:
    """Return the first and last time and the hands by which it came to each place."""
    found: dict[str, tuple[datetime | None, datetime | None, tuple[str, ...]]] = {}
    for (_, place), edge in edges.items():
        first, last, hands = found.get(place, (edge.first, edge.last, ()))
        times = [each for each in (first, last, edge.first, edge.last) if each is not None]
        found[place] = (min(times), max(times), tuple(sorted({*hands, *edge.hands})))
    return found


def _places(edges: Edges) -> set[str]:
    return {place for ends in edges for place in ends}


def _hands(edges: Edges) -> list[str]:
    return sorted({hand for edge in edges.values() for hand in edge.hands if hand})


# --- back -----------------------------------------------------------------------------------------------------------


def _back(connection: Connection, subject: Subject, origins: Origins, names: Names) -> Recall:
    names.learn(_places(origins.edges))
    traced = back_trace(subject.code, subject.kind, origins, names)
    if subject.filled:
        traced.at, traced.bottles = subject.filled[0].at, sum(each.bottles for each in subject.filled)
    whole = float(origins.ml) or 1.0
    found = Recall(subject.name, BACK, origins.ml, subject.kind, trace=traced)
    for lot in traced.lots:
        found.rows.append(RecallRow("lot", str(lot.name), 1000 * lot.litres, lot.fraction))
    left = _left(origins.edges)
    for vessel, stay in sorted(origins.stays.items(), key=lambda each: -each[1].ml_days):
        registered, ml = names.vessel(vessel), stay.ml or whole
        barrel = registered.barrel
        wood = (barrel.wood or "") if registered.is_barrel and barrel is not None else ""
        hands, days = left.get(vessel, ()), stay.ml_days / ml
        row = RecallRow(
            "vessel", registered.tag, ml, ml / whole, None, stay.since, stay.until, hands, days=days, wood=wood
        )
        found.rows.append(row)
    found.doses = [
        RecallDose(dose.entry, dose.at, names.of(dose.vessel), dose.substance, dose.amount, dose.hand, fraction)
        for dose, fraction in sorted(origins.doses, key=lambda each: each.dose.key)
    ]
    end = subject.filled[0].entry if subject.kind == "bottling" else subject.id
    lots = lots_in(origins, names)
    found.honeys = honeys_behind(connection, lots, names, whole)
    edges = origins.edges | honey_edges(found.honeys, lots, names)
    found.tree = laid_out(edges, {end: float(origins.ml)}, names, whole, is_back=True)
    found.hands = sorted({*_hands(edges), *(dose.hand for dose in found.doses if dose.hand)})
    return found


def lots_in(origins: Origins, names: Names) -> dict[str, float]:
    """Return what is traced of each lot [ml], by its id."""
    found: dict[str, float] = {}
    for (origin, _), ml in origins.parts.items():
        if names.is_lot(origin):
            found[origin] = found.get(origin, 0.0) + ml
    return found


def _left(edges: Edges) -> dict[str, tuple[str, ...]]:
    """Return the hands by which it left each place."""
    found: dict[str, set[str]] = {}
    for (source, _), edge in edges.items():
        found.setdefault(source, set()).update(edge.hands)
    return {place: tuple(sorted(hands)) for place, hands in found.items()}
