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
class StopOrder:
    """An order about a vessel that is due: `short` for a row, `words` in full, each with its number.

    `does` is what doing it exactly as it stands would write, empty where that cannot be; `why` is why it cannot, or
    what would be asked. `state` is what became of it on this walk, empty while it is still to do.
    """

    number: int
    short: str = ""
    words: str = ""
    does: str = ""
    why: str = ""
    is_impossible: bool = False
    state: str = ""

    @property
    def key(self) -> str:
        """What a walk knows it by, beside the tasks."""
        return f"{_ORDER_KEY}{self.number}"


_ORDER_KEY = "order "


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the walk: a vessel, its tasks in the order in which they are done there, and orders about it.

    `keg` is what it would be topped from, whether or not a topping is due; `warning` a leak that is as good as sure.
    """

    tag: str
    position: Position
    tasks: tuple[StopTask, ...] = ()
    keg: str | None = None
    level: Level | None = None
    warning: str = ""
    is_empty: bool = False
    orders: tuple[StopOrder, ...] = ()

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
    def open_orders(self) -> tuple[StopOrder, ...]:
        """The orders that are still to be done."""
        return tuple(each for each in self.orders if not each.state)

    @property
    def order_at_hand(self) -> StopOrder | None:
        """The first order that can be done exactly as it stands."""
        return next((each for each in self.open_orders if each.does), None)

    @property
    def open_keys(self) -> tuple[str, ...]:
        """All that is still to do, tasks and orders, as a walk knows it."""
        return (*(task.value for task in self.open_tasks), *(each.key for each in self.open_orders))

    @property
    def is_due(self) -> bool:
        """Whether anything is, or was, to do here."""
        return bool(self.tasks or self.orders)

    @property
    def state(self) -> str:
        """What became of the stop: empty while anything is open, "done" where all is, else what befell the others."""
        if self.open_keys:
            return ""
        states = {*(each.state for each in self.tasks), *(each.state for each in self.orders)}
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

    def with_state(self, keys: Collection[str], state: str) -> "Stop":
        """Return the stop after some of its tasks and orders came to a state."""
        return replace(
            self,
            tasks=tuple(replace(each, state=state) if each.task in keys else each for each in self.tasks),
            orders=tuple(replace(each, state=state) if each.key in keys else each for each in self.orders),
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


def stops_of(due: Sequence[Due], walk: Walk | None, cellar: Cellar, units: Units = DEFAULT) -> list[Stop]:
    """List a walk's stops in walking order, each vessel once: what is due there, and what this walk has dealt with."""
    tasks: dict[str, dict[Task, StopTask]] = defaultdict(dict)
    first: dict[str, Due] = {}
    for each in due:
        first.setdefault(each.barrel, each)
        state = _state(each, walk, cellar)
        tasks[each.barrel][each.task] = StopTask(each.task, each.why, state, each.expected_ml)
    for (tag, name), state in ({} if walk is None else walk.states).items():
        if tag in cellar and not name.startswith(_ORDER_KEY):
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


def with_orders(
    stops: Sequence[Stop], found: Mapping[str, Sequence[StopOrder]], walk: Walk | None, cellar: Cellar
) -> list[Stop]:
    """Return the stops with the orders that are `found` by tag, and a stop wherever nothing else is due.

    An order that is open is to do, whatever the walk has of it, unless it was skipped there; one that was done on this
    walk keeps its stop.
    """
    orders: dict[str, dict[str, StopOrder]] = defaultdict(dict)
    states = {} if walk is None else walk.states
    for tag, each in found.items():
        for order in each:
            state = states.get((tag, order.key), "")
            orders[tag][order.key] = replace(order, state="" if state == "done" else state)
    for (tag, name), state in states.items():
        if name.startswith(_ORDER_KEY) and state == "done" and name not in orders[tag]:
            number = int(name.removeprefix(_ORDER_KEY))
            orders[tag][name] = StopOrder(number, name, name, state=state)
    there = {tag: tuple(each.values()) for tag, each in orders.items() if each}
    all_stops = with_stops_at(stops, there, cellar)
    return [replace(stop, orders=there[stop.tag]) if stop.tag in there else stop for stop in all_stops]


def stop_at(standing: Standing, keg: str | None, cellar: Cellar) -> Stop:
    """Return a stop at a vessel where nothing is due: a line may be typed there as well."""
    source = keg or (best_keg(standing, kegs_of(cellar), 0) if standing.ml else None)
    return Stop(standing.tag, standing.position, keg=source, is_empty=standing.ml == 0)


def with_stops_at(stops: Sequence[Stop], tags: Iterable[str], cellar: Cellar) -> list[Stop]:
    """Return the stops, with one for each other vessel that is named, in walking order."""
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


def _state(due: Due, walk: Walk | None, cellar: Cellar) -> str:
    """A task that is still due is done only if the book agrees: a struck topping is to be done again."""
    if walk is None:
        return ""
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
    """Return what is left at a stop as a hand calls it: "order 3 rack, SO2"; nothing where nothing is."""
    orders = [each.short for each in stop.open_orders]
    return ", ".join([*orders, *(TASK_WORDS[task] for task in stop.open_tasks)])
