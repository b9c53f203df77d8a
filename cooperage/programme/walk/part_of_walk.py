"""One part of the rounds: the vessels of a room, or those with one task. What a hand calls each task."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol, TypeVar

from cooperage.book import Cellar
from cooperage.book.declared.spelling import folded
from cooperage.book.store.registry import Position
from cooperage.errors import BadInput, choose_from
from cooperage.programme.rounds.due import Due, Task

TASK_WORDS: Mapping[Task, str] = {
    Task.GAUGE: "dip",
    Task.TOP: "top",
    Task.SULPHITE: "SO2",
    Task.VA: "VA",
    Task.GRAVITY: "gravity",
    Task.TASTE: "taste",
    Task.SNIFF: "sniff",
}
"""Each task as a hand calls it."""
_TASK_SPELLINGS = {folded(word): task for task, named in TASK_WORDS.items() for word in (task.value, named)}


class HasTasks(Protocol):
    """What can be chosen: where it is, and what is to be done there."""

    @property
    def position(self) -> Position:
        """Its place."""

    @property
    def all_tasks(self) -> Collection[Task]:
        """Its tasks."""


S = TypeVar("S", bound=HasTasks)


class NoSuchFilter(BadInput):
    """A word by which no stop of the rounds can be chosen."""

    def __init__(self, word: str, choices: Iterable[str]) -> None:
        self.word = word
        super().__init__(f"'{word}' is neither a task of the rounds nor a room{choose_from(word, choices)}")


@dataclass(frozen=True, slots=True)
class WalkFilter:
    """Chooses the stops of one room, or those with one task; None is any."""

    task: Task | None = None
    room: str | None = None

    def passes(self, position: Position, tasks: Collection[Task]) -> bool:
        """Return True if a vessel at this position with these tasks is chosen."""
        in_room = self.room is None or folded(position[0] or "") == folded(self.room)
        return in_room and (self.task is None or self.task in tasks)

    def chosen(self, stops: Iterable[S]) -> list[S]:
        """Return the stops that are chosen, with all their tasks, in the same order."""
        return [stop for stop in stops if self.passes(stop.position, stop.all_tasks)]

    def chosen_due(self, due: Iterable[Due]) -> list[Due]:
        """Return what is due of one task, or in one room, in the same order."""
        return [each for each in due if self.passes(each.position, (each.task,))]


def filter_words(stops: Iterable[HasTasks]) -> tuple[str, ...]:
    """Return the words by which these stops can be chosen: their tasks, then their rooms in walking order."""
    stops = list(stops)
    there = {task for stop in stops for task in stop.all_tasks}
    rooms = dict.fromkeys(stop.position[0] for stop in stops if stop.position[0])
    return (*(TASK_WORDS[task] for task in Task if task in there), *rooms)


def read_filter(text: str, cellar: Cellar) -> WalkFilter:
    """Return the filter that one word means, a task or a room; nothing typed chooses all. Raises NoSuchFilter."""
    word = folded(text)
    if not word:
        return WalkFilter()
    if word in _TASK_SPELLINGS:
        return WalkFilter(task=_TASK_SPELLINGS[word])
    rooms = list(dict.fromkeys(room for standing in cellar if (room := standing.position[0])))
    room = next((room for room in rooms if folded(room) == word), None)
    if room is None:
        raise NoSuchFilter(text.strip(), (*TASK_WORDS.values(), *rooms))
    return WalkFilter(room=room)
