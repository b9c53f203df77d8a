"""A walk written on paper and typed up afterwards, one line a stop: "B-017 1.8; so2 24; weeping; hoop rusty".

A line is a tag and what would be typed at its stop (see `stop_line.py`). "from K-02" on a line of its own is the keg of
the toppings after it, "by Tove" the hand; "skip" and "out of reach" mean that nothing was done; lines that begin with #
are passed over.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Act, Book, Cellar, Standing, Written
from cooperage.book.declared.acts import Top
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.pasted.table import LinesUnread, Numbered, Unread, VesselNames, numbered
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import Due, Task, rounds
from cooperage.programme.together import write_together
from cooperage.programme.walk.progress import Walk
from cooperage.programme.walk.stop_line import parse_stop_line
from cooperage.programme.walk.stops import Stop, stop_at, stops_of
from cooperage.units import DEFAULT, Units, counted

_HOLDING = ("from", "by")
"""Words that on a line of their own hold for the lines after it."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line that was understood: its number, its stop, the acts it means and which tasks they do.

    Where nothing was done there are none, and `not_done` is why.
    """

    line: int
    stop: Stop
    acts: tuple[Act, ...]
    done_tasks: tuple[Task, ...] = ()
    not_done: str = ""


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """A sheet as understood, and the lines that need a look."""

    lines: tuple[SheetLine, ...]
    unread: tuple[Unread, ...]

    @property
    def words(self) -> str:
        """Return in one line what the sheet comes to."""
        acts, left = sum(len(line.acts) for line in self.lines), sum(bool(line.not_done) for line in self.lines)
        entries = counted(acts, "entry", "entries")
        text = f"{entries} from {counted(len(self.lines), 'line')}"
        return (
            text + (f", {left} not done" if left else "") + (f", {len(self.unread)} not understood" * bool(self.unread))
        )


def read_sheet(book: Book, text: str, walked_at: datetime, hand: str = "", units: Units = DEFAULT) -> PaperSheet:
    """Understand a sheet against the cellar as it stood when it was walked; bare numbers are in the person's units."""
    cellar = cellar_now(book, walked_at)
    due = rounds(cellar, units=units, looks=looks_due(book, cellar))
    reader = _Reader(cellar, due, walked_at, hand, units)
    lines: list[SheetLine] = []
    unread: list[Unread] = []
    for number, line in numbered(text):
        try:
            lines += reader.read((number, line.strip()))
        except BadInput as error:
            unread.append(Unread(number, line.strip(), error.words(units)))
    return PaperSheet(tuple(lines), tuple(unread))


def write_sheet(book: Book, sheet: PaperSheet, *, sure: bool = False) -> list[Written]:
    """Write all entries of a sheet in one transaction, or none; raises LinesUnread, and the rule that an act breaks."""
    if sheet.unread:
        raise LinesUnread(sheet.unread)
    return write_together(book, [act for line in sheet.lines for act in line.acts], sure=sure)


class _Reader:
    """Reads line after line; remembers the keg and the hand that were named last."""

    def __init__(self, cellar: Cellar, due: Sequence[Due], walked_at: datetime, hand: str, units: Units) -> None:
        self._cellar, self._names = cellar, VesselNames(cellar)
        self._stops = {stop.tag: stop for stop in stops_of(due, Walk("", walked_at), cellar, units)}
        self._walked_at, self._hand, self._units = walked_at, hand, units
        self._source = ""

    def read(self, line: Numbered) -> Iterator[SheetLine]:
        """Yield what a line means; nothing for a remark, or for a keg or a hand named for those after it."""
        number, text = line
        first, _, rest = text.partition(" ")
        if text.startswith("#"):
            return
        if first.casefold() in _HOLDING:
            self._hold(first.casefold(), rest.strip())
            return
        stop = self._stop(self._cellar[self._names.tag(first.rstrip(":,;"))])
        given = {"from": self._source or stop.keg or "", "hand": self._hand}
        stop_acts = parse_stop_line(stop, rest.strip(), given, self._cellar.at, self._units)
        if stop_acts.left:
            yield SheetLine(number, stop, (), not_done=stop_acts.left)
            return
        found = (replace(act, at=act.at or self._walked_at, hand=act.hand or self._hand) for act in stop_acts.acts)
        yield SheetLine(number, stop, tuple(self._with_tag_of_keg(act) for act in found), stop_acts.done_tasks)

    def _hold(self, word: str, name: str) -> None:
        if word == "from":
            self._source = self._names.tag(name)
        elif name:
            self._hand = name

    def _with_tag_of_keg(self, act: Act) -> Act:
        """Return a topping from the vessel that is meant: its tag may be written without its dash."""
        return replace(act, source=self._names.tag(act.source)) if isinstance(act, Top) and act.source else act

    def _stop(self, standing: Standing) -> Stop:
        return self._stops.get(standing.tag) or stop_at(standing, None, self._cellar)
