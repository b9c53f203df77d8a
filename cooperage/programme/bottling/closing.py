"""Closing a run: in one transaction its bottlings, samples, what was lost, what remains, and what is retained."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from cooperage.book import Act, Book, Cellar, Writing, Written
from cooperage.book.declared import acts
from cooperage.book.declared.allowed import LONGEST_TEXT, check_text
from cooperage.book.errors import Implausible
from cooperage.programme.bottling.drawn import RunDraw, draws
from cooperage.programme.bottling.errors import FewerFilled, NotASizeOfIt, NothingInRun, RestIntoItself
from cooperage.programme.bottling.opening import bottling_code
from cooperage.programme.bottling.run import BottlingRun, RunClosed, RunLine, RunLineKind
from cooperage.programme.bottling.stored import find_open_run, find_run, insert_closed, insert_lines, next_line
from cooperage.programme.bottling.words import bottle_words
from cooperage.programme.together import AskedTogether, write_one
from cooperage.units import Units, read_bottles, read_volume

STAYS, LOST = "stays", "lost"
"""What may become of the rest beside the tag of a vessel: it stays where it is, or it is written off."""
RETAINED = "retained samples"
"""The store of retained samples, if none is named."""


@dataclass(frozen=True, slots=True)
class HowClosed:
    """How a run is closed: what becomes of the rest (STAYS, LOST or a vessel's tag), and how many bottles are retained.

    `line_loss_ml` joins what was written of it already. Retained bottles are by size [ml].
    """

    rest: str = STAYS
    retained: Mapping[int, int] = field(default_factory=dict)
    store: str = RETAINED
    line_loss_ml: int = 0


AlsoDone = Callable[[Writing, str, Sequence[Written]], None]
"""What belongs to closing a run of a code besides, in the transaction that wrote its entries."""


def close_run(
    book: Book, code: str, how: HowClosed, *, hand: str = "", sure: bool = False, also: AlsoDone | None = None
) -> BottlingRun:
    """Write all that a run came to as entries with one mark, and that it is closed; or nothing of it.

    Hands close a run with `close_run` of `programme/orders/bottled.py`, which closes orders with it.

    Raises NoSuchRun, NoOpenRun, RunIsClosed, NothingInRun, RunTakesMore, NotInWholeBottles, FewerFilled,
    RestIntoItself, AskedTogether, and what the book refuses.
    """
    check_text(hand, "the name", LONGEST_TEXT)
    with book.writing() as session:
        run = _with_loss(session, find_open_run(session.connection, code), how.line_loss_ml, hand)
        shares = _shares(session, run)
        rest = _rest(session, run, how.rest)
        asked: list[Any] = []
        written = [
            write_one(session, book, replace(act, hand=hand, note=f"run {run.code}", sure=sure), asked)
            for act in _acts(run, shares, rest, how)
        ]
        if asked and not sure:
            raise AskedTogether([each for each in asked if isinstance(each, Implausible)])
        entries = [each.id for each in written]
        if len(entries) > 1:
            session.mark_together(entries)
        came_to = _came_to(run, shares, rest)
        closed = RunClosed(session.new_id(), run.id, entries, came_to, hand, session.now)
        insert_closed(session.connection, closed)
        if also is not None:
            also(session, run.code, written)
        return find_run(session.connection, run.code)


def _with_loss(session: Writing, run: BottlingRun, line_loss_ml: int, hand: str) -> BottlingRun:
    """Write what stayed in the line as the run's last line."""
    if not line_loss_ml:
        return run
    line = RunLine("", 0, RunLineKind.LOSS, ml=line_loss_ml, hand=hand, at=session.now)
    insert_lines(session.connection, [next_line(run, line)])
    return find_run(session.connection, run.code)


def _shares(session: Writing, run: BottlingRun) -> list[RunDraw]:
    vessels = [session.registry.vessel(tag) for tag in run.vessels]
    return _shared_out(run, [(vessel.tag, session.state_of(vessel.id).ml) for vessel in vessels])


def _shared_out(run: BottlingRun, there: Sequence[tuple[str, int]]) -> list[RunDraw]:
    filled, sampled = run.bottles(RunLineKind.FILLED), run.volume(RunLineKind.SAMPLE)
    if not (filled or sampled or run.lost_ml):
        raise NothingInRun(run.code)
    return draws(there, filled, run.lost_ml, sampled)


def foreseen(run: BottlingRun, cellar: Cellar, how: HowClosed) -> dict[str, Any]:
    """Return what a run would come to if it were closed now; nothing is written.

    Raises NothingInRun, RunTakesMore, NotInWholeBottles, FewerFilled, RestIntoItself, NoSuchVessel.
    """
    asked = how.rest.strip()
    rest = asked.casefold() if asked.casefold() in (STAYS, LOST) else cellar[asked].tag
    if rest in run.vessels:
        raise RestIntoItself(rest)
    if how.line_loss_ml:
        loss = RunLine(run.id, 0, RunLineKind.LOSS, ml=how.line_loss_ml)
        run = replace(run, lines=(*run.lines, loss))
    shares = _shared_out(run, [(tag, cellar[tag].ml) for tag in run.vessels])
    _check_retained(run, how)
    return _came_to(run, shares, rest)


def _rest(session: Writing, run: BottlingRun, rest: str) -> str:
    """Return what becomes of the rest, a vessel by its tag."""
    asked = rest.strip()
    if asked.casefold() in (STAYS, LOST):
        return asked.casefold()
    tag = session.registry.vessel(asked).tag
    if tag in run.vessels:
        raise RestIntoItself(tag)
    return tag


def _acts(run: BottlingRun, shares: Sequence[RunDraw], rest: str, how: HowClosed) -> Iterator[Act]:
    bottlings = []
    for share in shares:
        if share.sample_ml:
            yield from _samples(share)
        made = list(_out_of(run, share, shares, empties=rest == LOST))
        bottlings += [act for act in made if isinstance(act, acts.Bottle)]
        yield from made
        if share.left_ml and share.is_drawn_on and rest not in (STAYS, LOST):
            yield acts.Rack(vessel=share.tag, destination=rest, volume=share.left_ml)
    yield from _retained(run, bottlings, how)


_MOST_SAMPLED_ML = 1500


def _samples(share: RunDraw) -> Iterator[Act]:
    """Yield samples no larger than one usually is: a run's are many."""
    left = share.sample_ml
    while left:
        ml = min(left, _MOST_SAMPLED_ML)
        yield acts.Sample(vessel=share.tag, volume=ml)
        left -= ml


def _out_of(run: BottlingRun, share: RunDraw, shares: Sequence[RunDraw], *, empties: bool) -> Iterator[Act]:
    """Yield the bottlings out of one vessel, the loss with the last of them; without any, the loss is poured away."""
    sizes = [size for size in run.sizes if size in share.bottles]
    is_empty = empties and share.left_ml > 0 and share.is_drawn_on
    if not sizes and (share.lost_ml or is_empty):
        ml = share.lost_ml or share.left_ml
        yield acts.Rack(vessel=share.tag, destination=acts.POURED_AWAY, volume=ml, empties=is_empty)
    several = len(run.bottles(RunLineKind.FILLED)) > 1, sum(bool(each.bottles) for each in shares) > 1
    for size in sizes:
        is_last = size == sizes[-1]
        yield acts.Bottle(
            vessel=share.tag,
            code=bottling_code(run.code, size if several[0] else None, share.tag if several[1] else ""),
            bottles=share.bottles[size],
            bottle=size,
            loss=share.lost_ml if is_last else 0,
            empties=is_empty and is_last,
        )


def _retained(run: BottlingRun, bottlings: Sequence[acts.Bottle], how: HowClosed) -> Iterator[Act]:
    """Yield the bottles that are put by, of each size from the first bottling that has some."""
    _check_retained(run, how)
    store = how.store.strip() or RETAINED
    for size, asked in how.retained.items():
        left = asked
        for act in (each for each in bottlings if each.bottle == size):
            if count := min(left, act.bottles):
                yield acts.Stow(code=act.code, bottles=count, store=store)
                left -= count


def _check_retained(run: BottlingRun, how: HowClosed) -> None:
    filled = run.bottles(RunLineKind.FILLED)
    for size, asked in how.retained.items():
        if size not in run.sizes:
            raise NotASizeOfIt(run.code, run.sizes, size)
        if asked > filled.get(size, 0):
            raise FewerFilled(asked, size, filled.get(size, 0))


def retained_words(how: HowClosed) -> Iterator[str]:
    """Yield what is put by where: "6 bottles of 750 mL put by in library"; nothing where none is."""
    put_by = ", ".join(bottle_words(count, size) for size, count in how.retained.items())
    if put_by:
        yield f"{put_by} put by in {how.store.strip() or RETAINED}"


def read_retained(text: str, run: BottlingRun, units: Units) -> dict[int, int]:
    """Return how many bottles of each size [ml] are put by: "6" of every size that was filled, "750ml=6,375ml=2".

    Raises BadInput.
    """
    asked = text.strip()
    if asked in ("", "0"):
        return {}
    if "=" in asked:
        pairs = (part.partition("=") for part in asked.split(","))
        return {read_volume(size): read_bottles(count, units) for size, _, count in pairs}
    return dict.fromkeys(run.bottles(RunLineKind.FILLED) or run.sizes, read_bottles(asked, units))


def _came_to(run: BottlingRun, shares: Sequence[RunDraw], rest: str) -> dict[str, Any]:
    """Return what the run came to [ml], which sums up: there = filled + rejects + line loss + samples + left."""
    return {
        "there_ml": sum(share.there_ml for share in shares),
        "filled_ml": run.volume(RunLineKind.FILLED),
        "rejects_ml": run.volume(RunLineKind.REJECTS),
        "line_loss_ml": run.volume(RunLineKind.LOSS),
        "samples_ml": run.volume(RunLineKind.SAMPLE),
        "left_ml": sum(share.left_ml for share in shares),
        "rest": rest,
        "left_in_ml": {share.tag: share.left_ml for share in shares if share.left_ml},
    }
