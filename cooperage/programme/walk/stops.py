"""The stops of a walk: each vessel with all its tasks, and what became of them. Plain values, no screen."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Act, Cellar, Standing
from cooperage.book.dangers.dangers import Caution
from cooperage.book.declared import acts
from cooperage.book.declared.acts import that_count_as
from cooperage.book.declared.counts import Counts
from cooperage.book.declared.looks import SEEN_FULL
from cooperage.book.declared.substances import treatment_named
from cooperage.book.store.registry import Position
from cooperage.programme.losses.level import Level
from cooperage.programme.rounds.due import Due, Task
from cooperage.programme.rounds.kegs import best_keg, kegs_of
from cooperage.programme.upkeep.cautions import cautions_of_walk
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.progress import LEFT_OUT, OUT_OF_REACH, Walk
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class StopTask:
    """One thing to do at a vessel, why, and what to mind; `state` is empty while it is still to do."""

    task: Task
    why: str = ""
    state: str = ""
    expected_ml: int | None = None
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the walk: a vessel and its tasks, in the order in which they are done there.

    `keg` is what it would be topped from, whether or not a topping is due; `warning` a leak that is as good as sure.
    """

    tag: str
    position: Position
    tasks: tuple[StopTask, ...] = ()
    keg: str | None = None
    level: Level | None = None
    warning: str = ""
    is_empty: bool = False

    @property
    def key(self) -> str:
        """What a walk knows the stop by."""
        return self.tag

    @property
    def all_tasks(self) -> tuple[Task, ...]:
        """Every task, done or not."""
        return tuple(each.task for each in self.tasks)

    @property
    def open_tasks(self) -> tuple[Task, ...]:
        """The tasks that are still to do."""
        return tuple(each.task for each in self.tasks if not each.state)

    @property
    def state(self) -> str:
        """What became of the stop: empty while a task is open, "done" where all are, else what befell the others."""
        if self.open_tasks:
            return ""
        states = {each.state for each in self.tasks}
        return next((state for state in (OUT_OF_REACH, LEFT_OUT) if state in states), "done")

    @property
    def expected_ml(self) -> int | None:
        """What a topping is expected to take [ml]; None where none is due."""
        return next((each.expected_ml for each in self.tasks if each.task is Task.TOP), None)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to mind at the tasks that are still to do, each once."""
        found = (caution for each in self.tasks if not each.state for caution in each.cautions)
        return tuple(dict.fromkeys(found))

    def with_state(self, tasks: Collection[Task], state: str) -> "Stop":
        """Return the stop after some of its tasks came to a state."""
        return replace(
            self, tasks=tuple(replace(each, state=state) if each.task in tasks else each for each in self.tasks)
        )


DONE_BY: Mapping[Task, tuple[str, ...]] = {
    Task.GAUGE: ("headspace_mm",),
    Task.TOP: (*that_count_as(Counts.SEEN_FULL), "seen full"),
    Task.SULPHITE: ("free_so2_mg_l",),
    Task.VA: ("va_g_l",),
    Task.GRAVITY: ("sg",),
    Task.TASTE: that_count_as(Counts.TASTED),
    Task.SNIFF: ("sniff",),
}
"""What does a task, by the names that states remember: kinds of entry, treatments, properties read."""


def fulfilled_by(act: Act) -> Task | None:
    """Return the task that an act does, if any: a sample is a tasting, a barrel seen full needs no topping."""
    match act:
        case acts.Reading(property=name):
            return next((task for task, names in DONE_BY.items() if name in names), None)
        case acts.Look(level=level):
            return Task.TOP if level == SEEN_FULL else None
        case acts.Gauge():
            return Task.GAUGE
        case acts.Treat(treatment=name):
            return _that_counts(treatment_named(name).counts_as) or (Task.SNIFF if name == Task.SNIFF.value else None)
        case _:
            return _that_counts(act.counts_as)


def _that_counts(counts_as: Collection[Counts]) -> Task | None:
    if Counts.SEEN_FULL in counts_as:
        return Task.TOP
    return Task.TASTE if Counts.TASTED in counts_as else None


# --- the walk's list ------------------------------------------------------------------------------------------------

_ORDER = {task: nth for nth, task in enumerate(Task)}


def stops_of(due: Sequence[Due], walk: Walk, cellar: Cellar, units: Units = DEFAULT) -> list[Stop]:
    """List a walk's stops in walking order, each vessel once: what is due there, and what this walk has dealt with."""
    tasks: dict[str, dict[Task, StopTask]] = defaultdict(dict)
    first: dict[str, Due] = {}
    for each in due:
        first.setdefault(each.barrel, each)
        state = _state(each, walk, cellar)
        tasks[each.barrel][each.task] = StopTask(each.task, each.why, state, each.expected_ml)
    for (tag, name), state in walk.states.items():
        if tag in cellar:
            tasks[tag].setdefault(Task(name), StopTask(Task(name), state=state))
    kegs = {each.barrel: each.keg for each in due if each.keg is not None}
    stood = [standing for standing in cellar.in_walking_order() if standing.tag in tasks]
    stops = [_stop(standing, tasks[standing.tag], first.get(standing.tag), kegs, cellar) for standing in stood]
    return _with_cautions(stops, cellar, units)


def _stop(
    standing: Standing,
    tasks: Mapping[Task, StopTask],
    due: Due | None,
    kegs: Mapping[str, str],
    cellar: Cellar,
) -> Stop:
    in_order = tuple(sorted(tasks.values(), key=lambda each: _ORDER[each.task]))
    stop = stop_at(standing, kegs.get(standing.tag), cellar)
    return replace(
        stop, tasks=in_order, level=due.level if due is not None else None, warning=due.warning if due else ""
    )


def stops_to_do(due: Sequence[Due], walk: Walk | None, cellar: Cellar, units: Units = DEFAULT) -> list[Stop]:
    """List the stops that are still to do, as the rounds count them: each vessel with what this walk has left open.

    Without a walk under way that is every vessel at which something is due.
    """
    stops = stops_of(due, walk or Walk("", cellar.at), cellar, units)
    return [stop for stop in stops if not stop.state]


def stop_at(standing: Standing, keg: str | None, cellar: Cellar) -> Stop:
    """Return a stop at a vessel where nothing is due: a line may be typed there as well."""
    source = keg or (best_keg(standing, kegs_of(cellar), 0) if standing.ml else None)
    return Stop(standing.tag, standing.position, keg=source, is_empty=standing.ml == 0)


def with_stops_at(stops: Sequence[Stop], tags: Iterable[str], cellar: Cellar) -> list[Stop]:
    """Return the stops, with one for each other vessel at which something is half typed, in walking order."""
    there = {stop.tag: stop for stop in stops}
    more = {tag: stop_at(cellar[tag], None, cellar) for tag in tags if tag in cellar and tag not in there}
    if not more:
        return list(stops)
    there |= more
    return [there[standing.tag] for standing in cellar.in_walking_order() if standing.tag in there]


def _with_cautions(stops: Sequence[Stop], cellar: Cellar, units: Units) -> list[Stop]:
    """Give each task what to mind at it; what every stop would repeat stands where it first comes up."""
    asked = [(each.task, stop.tag, stop.keg) for stop in stops for each in stop.tasks]
    found = iter(cautions_of_walk(asked, cellar, units))
    return [replace(stop, tasks=tuple(replace(each, cautions=next(found)) for each in stop.tasks)) for stop in stops]


def _state(due: Due, walk: Walk, cellar: Cellar) -> str:
    """A task that is still due is done only if the book agrees: a struck topping is to be done again."""
    state = walk.states.get((due.barrel, due.task.value), "")
    if state != "done":
        return state
    last = _last(cellar[due.barrel], due.task)
    return "done" if last is not None and last >= max(due.due, walk.since) else ""


def _last(standing: Standing, task: Task) -> datetime | None:
    return max((at for what in DONE_BY[task] if (at := standing.last(what))), default=None)


def next_open(stops: Sequence[Stop], after: int) -> int | None:
    """Return the next stop still to do, from the one after `after` round to it again; None when none is left."""
    order = [*range(after + 1, len(stops)), *range(min(after + 1, len(stops)))]
    return next((index for index in order if not stops[index].state), None)


def index_of_tag(stops: Sequence[Stop], tag: str) -> int | None:
    """Return the stop at a vessel; None where there is none."""
    return next((index for index, stop in enumerate(stops) if stop.tag == tag), None)


def still_to_do(stop: Stop) -> str:
    """Return the tasks that are left at a stop as a hand calls them: "SO2, taste"; nothing where none is."""
    return ", ".join(TASK_WORDS[task] for task in stop.open_tasks)
