"""The stops of a walk: what is due and what became of it, and how each is answered. Plain values, no screen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from cooperage.book import Act, Cellar, Standing
from cooperage.book.dangers.dangers import Caution
from cooperage.book.declared.acts import Look, that_count_as
from cooperage.book.declared.counts import Counts
from cooperage.book.declared.looks import SEEN_FULL
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.store.registry import Position
from cooperage.programme.losses.level import Level
from cooperage.programme.rounds.due import Due, Task
from cooperage.programme.upkeep.cautions import cautions_of_walk
from cooperage.programme.walk.progress import Walk
from cooperage.units import DEFAULT, Quantity, Units


@dataclass(frozen=True, slots=True)
class Stop:
    """One line of the walk; `state` is empty while it is still to do."""

    tag: str
    task: Task
    position: Position
    state: str = ""
    why: str = ""
    expected_ml: int | None = None
    keg: str | None = None
    cautions: tuple[Caution, ...] = ()
    level: Level | None = None
    warning: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """What the walk knows it by."""
        return self.tag, self.task.value


@dataclass(frozen=True, slots=True)
class StopQuestion:
    """How a task is answered: by which kind of entry, which field is typed (none: Enter is enough), what is given.

    `quantity` is of what is typed.
    """

    kind: str
    label: str
    typed: str = ""
    given: Mapping[str, str] = field(default_factory=dict)
    done_by: tuple[str, ...] = ()
    quantity: Quantity | None = None


def _reading(name: str, kind: str = "reading", typed: str = "value") -> StopQuestion:
    """Return the question for a property, which another kind of entry than a reading may ask by a field of its own."""
    read = PROPERTIES[name]
    given = {"property": name} if kind == "reading" else {}
    return StopQuestion(kind, read.label, typed, given, (name,), read.quantity)


ASKS: Mapping[Task, StopQuestion] = {
    Task.TOP: StopQuestion(
        "top", "top with", "volume", done_by=(*that_count_as(Counts.SEEN_FULL), "seen full"), quantity=Quantity.VOLUME
    ),
    Task.GAUGE: _reading("headspace_mm", "gauge", "headspace"),
    Task.SULPHITE: _reading("free_so2_mg_l"),
    Task.VA: _reading("va_g_l"),
    Task.GRAVITY: _reading("sg"),
    Task.TASTE: StopQuestion(
        "treat", "tasted, all good", given={"treatment": "taste"}, done_by=that_count_as(Counts.TASTED)
    ),
    Task.SNIFF: StopQuestion("treat", "smelled, sound", given={"treatment": "sniff"}, done_by=("sniff",)),
}

_ORDER = {task: nth for nth, task in enumerate(Task)}


def fulfilled_by(act: Act) -> Task | None:
    """Return the task that an act does, if any; a sample counts as a tasting."""
    if act.kind == "sample":
        return Task.TASTE
    if isinstance(act, Look):
        return Task.TOP if act.level == SEEN_FULL else None
    for task, ask in ASKS.items():
        if act.kind == ask.kind and all(getattr(act, name) == value for name, value in ask.given.items()):
            return task
    return None


def stops_of(due: Sequence[Due], walk: Walk, cellar: Cellar, units: Units = DEFAULT) -> list[Stop]:
    """List a walk's stops in walking order, with what to mind: what is due, and what this walk has dealt with."""
    stops = {
        (each.barrel, each.task.value): Stop(
            each.barrel,
            each.task,
            each.position,
            _state(each, walk, cellar),
            each.why,
            each.expected_ml,
            each.keg,
            level=each.level,
            warning=each.warning,
        )
        for each in due
    }
    for (tag, task), state in walk.states.items():
        if (tag, task) not in stops and tag in cellar:
            stops[tag, task] = Stop(tag, Task(task), cellar[tag].position, state)
    passed = {standing.tag: nth for nth, standing in enumerate(cellar.in_walking_order())}
    in_order = sorted(stops.values(), key=lambda stop: (passed[stop.tag], _ORDER[stop.task]))
    minded = cautions_of_walk(((stop.task, stop.tag, stop.keg) for stop in in_order), cellar, units)
    return [replace(stop, cautions=found) if found else stop for stop, found in zip(in_order, minded, strict=True)]


def _state(due: Due, walk: Walk, cellar: Cellar) -> str:
    """A stop that is still due is done only if the book agrees: a struck topping is to be done again."""
    state = walk.states.get((due.barrel, due.task.value), "")
    if state != "done":
        return state
    last = _last(cellar[due.barrel], due.task)
    return "done" if last is not None and last >= max(due.due, walk.since) else ""


def _last(standing: Standing, task: Task) -> datetime | None:
    return max((at for what in ASKS[task].done_by if (at := standing.last(what))), default=None)


def next_open(stops: Sequence[Stop], after: int) -> int | None:
    """Return the next stop still to do, from the one after `after` round to it again; None when none is left."""
    order = [*range(after + 1, len(stops)), *range(min(after + 1, len(stops)))]
    return next((index for index in order if not stops[index].state), None)


def index_of_tag(stops: Sequence[Stop], tag: str) -> int | None:
    """Return the first stop at a barrel that is still to do, else any stop at it, else None."""
    at_barrel = [index for index, stop in enumerate(stops) if stop.tag == tag]
    return next((index for index in at_barrel if not stops[index].state), at_barrel[0] if at_barrel else None)


def index_of_struck(stops: Sequence[Stop], tag: str, kind: str, fields: Mapping[str, object]) -> int | None:
    """Return the stop that a struck entry had done, so that what is typed next answers the same question.

    Another task of the barrel is no such stop: litres typed again there would be taken for a reading.
    """
    for index, stop in enumerate(stops):
        ask = ASKS[stop.task]
        if stop.tag == tag and ask.kind == kind and all(fields.get(name) == value for name, value in ask.given.items()):
            return index
    return index_of_tag(stops, tag)
