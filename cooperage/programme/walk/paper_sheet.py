"""A walk written on paper and typed up afterwards, one line a stop: "B-017 1.8 weeping; hoop rusty".

A line is a tag and what would be typed at its stop (see `stop_line.py`): litres for a topping, or the task's own name
first, as in "B-031 sulphite 22" and "B-044 sniff egg". "from K-02" on a line of its own is the keg of the toppings
after it; "skip" and "out of reach" mean that nothing was done; lines that begin with # are passed over.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Act, Book, Cellar, Standing, Written
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.pasted.table import LinesUnread, Numbered, Unread, VesselNames, numbered
from cooperage.programme.rounds.due import Due, Task, rounds
from cooperage.programme.rounds.kegs import best_keg, kegs_of
from cooperage.programme.together import write_together
from cooperage.programme.walk.stop_line import parse_stop_line
from cooperage.programme.walk.stops import Stop
from cooperage.units import DEFAULT, Units, counted

NOT_DONE = ("skip", "skipped", "out of reach")
_TASKS = {task.value: task for task in Task}


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line that was understood: its number, its stop, and the acts it means; none where nothing was done."""

    line: int
    stop: Stop
    acts: tuple[Act, ...]
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
    reader = _Reader(cellar, rounds(cellar, units=units), walked_at, hand, units)
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
    """Reads line after line; remembers the keg that was named last."""

    def __init__(self, cellar: Cellar, due: Sequence[Due], walked_at: datetime, hand: str, units: Units) -> None:
        self._cellar, self._names = cellar, VesselNames(cellar)
        self._due = {(each.barrel, each.task): each for each in due}
        self._kegs = kegs_of(cellar)
        self._walked_at, self._hand, self._units = walked_at, hand, units
        self._source = ""

    def read(self, line: Numbered) -> Iterator[SheetLine]:
        """Yield what a line means; nothing for a remark, or for a keg named for those after it."""
        number, text = line
        first, _, rest = text.partition(" ")
        if text.startswith("#"):
            return
        if first.casefold() == "from":
            self._source = self._names.tag(rest.strip())
            return
        standing = self._cellar[self._names.tag(first.rstrip(":"))]
        task, words = self._task(standing, rest.strip())
        stop = self._stop(standing, task)
        if words.casefold() in NOT_DONE:
            yield SheetLine(number, stop, (), words.casefold())
            return
        stop_acts = parse_stop_line(
            stop, words, {"from": self._source or stop.keg or "", "hand": self._hand}, self._cellar.at, self._units
        )
        yield SheetLine(number, stop, tuple(replace(act, at=self._walked_at) for act in stop_acts.acts))

    def _task(self, standing: Standing, words: str) -> tuple[Task, str]:
        """Return what a line is about: the task it names, else what is due of a full or an empty barrel."""
        word, _, rest = words.partition(" ")
        if word.casefold() in _TASKS:
            return _TASKS[word.casefold()], rest.strip()
        return (Task.TOP if standing.ml else Task.SNIFF), words

    def _stop(self, standing: Standing, task: Task) -> Stop:
        due = self._due.get((standing.tag, task))
        keg = due.keg if due else best_keg(standing, self._kegs, 0)
        return Stop(standing.tag, task, standing.position, keg=keg)
