"""Filter the cellar by a few typed words, all of which must hold: `past rum fill 1-2 due`.

A word by itself is looked for anywhere (tag, kind, lots, wood, past life, cooper, place), and a state (`low`, `empty`,
`due`, `ready`, `nearly`, `passed` ...) is that state. A word before another gives where to look: `lot heather`, `wood
acacia`, `room loft`, `fill 1-2`, `level <95%`, `short >2 L`, `due top`. `not` before any of them turns it round.
"""

import re
from collections import deque
from collections.abc import Callable, Mapping, Sequence

from cooperage.book import Standing
from cooperage.errors import BadInput
from cooperage.programme.ready.readiness import ReadyState
from cooperage.programme.rounds.due import Task
from cooperage.programme.search.bounds import Bounds, limit_in
from cooperage.programme.search.described import Described
from cooperage.programme.search.marks import State
from cooperage.units import DEFAULT, Quantity, Units

Holds = Callable[[Described], bool]

_MOST_WORDS_OF_A_FIGURE = 3  # "2 imp gal"


class BadQuery(BadInput):
    """Words that cannot be looked for; `unfinished` while the last of them may still be typed on.

    `understood` is what was typed before them.
    """

    def __init__(self, reason: str, *, unfinished: bool = False) -> None:
        self.unfinished = unfinished
        self.understood = ""
        super().__init__(reason)


def find_vessels(described: Sequence[Described], words: str, units: Units = DEFAULT) -> list[Standing]:
    """Keep the vessels for which everything typed holds; retired ones only where the words ask for them.

    Raises BadQuery.
    """
    tests, asks_retired = parse_query(words, units), State.RETIRED in words.casefold().split()
    there = (seen for seen in described if asks_retired or not seen.standing.is_retired)
    return [seen.standing for seen in there if all(test(seen) for test in tests)]


def parse_query(words: str, units: Units = DEFAULT) -> list[Holds]:
    """Make one test of each thing that was typed; bare volumes are in the person's unit. Raises BadQuery."""
    joined = re.sub(r"([<>]=?)\s+", r"\1", words.casefold())
    parts = [word for part in joined.split() if (word := part.strip(",;")) not in ("", "and")]
    left, tests = deque(parts), []
    while left:
        before = len(parts) - len(left)
        try:
            tests.append(_next_test(left, units))
        except BadQuery as error:
            error.understood = " ".join(parts[:before])
            raise
    return tests


def _next_test(left: deque[str], units: Units) -> Holds:
    word = left.popleft()
    if word == "not":
        if not left:
            raise BadQuery("not wants a word after it, such as not empty", unfinished=True)
        turned = _next_test(left, units)
        return lambda seen: not turned(seen)
    if word in _STATES:
        state = _STATES[word]
        return lambda seen: state in seen.marks.states(seen.standing)
    if word in _READY:
        wanted = _READY[word]
        return lambda seen: seen.marks.stands_ready(seen.standing.tag, wanted)
    if word == "due":
        return _due(left)
    if word in _TEXTS:
        return _text_test(word, left)
    if word in _FIGURES:
        return _figure_test(word, left, units)
    return lambda seen: word in seen.anything


_STATES: Mapping[str, State] = {state.value: state for state in State}
_READY: Mapping[str, ReadyState] = {
    "ready": ReadyState.READY,
    "nearly": ReadyState.NEARLY,
    "passed": ReadyState.PASSED,
}
"""Words for how a barrel stands to the cellar's definition of ready."""


def _due(left: deque[str]) -> Holds:
    """Anything due, or only the task that is named next."""
    if left and left[0] in list(Task):
        task = Task(left.popleft())
        return lambda seen: any(each.task is task for each in seen.marks.due.get(seen.standing.tag, ()))
    return lambda seen: seen.standing.tag in seen.marks.due


_TEXTS: Mapping[str, tuple[Callable[[Described, str], bool], str]] = {
    "lot": (lambda seen, word: word in seen.lot, "part of a lot's code, name or honey, such as lot heather"),
    "wood": (lambda seen, word: word in seen.wood, "part of a wood's name, such as wood acacia"),
    "past": (lambda seen, word: word in seen.past, "what it held before it came, such as past rum or past new"),
    "room": (lambda seen, word: seen.room.startswith(word), "the room's name, such as room loft"),
    "row": (lambda seen, word: seen.row == word, "the row's name, such as row a"),
}
"""What heads one word of text: how that is looked for, and what it wants."""


def _text_test(heading: str, left: deque[str]) -> Holds:
    holds, wanted = _TEXTS[heading]
    if not left:
        raise BadQuery(f"{heading} wants {wanted}", unfinished=True)
    word = left.popleft()
    return lambda seen: holds(seen, word)


Figure = Callable[[Described], float | None]


def _position(part: int) -> Figure:
    def figure(seen: Described) -> float | None:
        found = seen.standing.position[part]
        return found if isinstance(found, int) else None

    return figure


def _percent_full(seen: Described) -> float:
    return seen.marks.percent_full(seen.standing)


_FIGURES: Mapping[str, tuple[Figure, Quantity, str]] = {
    "fill": (lambda seen: seen.standing.fill_number if seen.standing.vessel.is_barrel else None, Quantity.COUNT, "="),
    "bay": (_position(2), Quantity.COUNT, "="),
    "tier": (_position(3), Quantity.COUNT, "="),
    "level": (_percent_full, Quantity.PERCENT, ""),
    "below": (_percent_full, Quantity.PERCENT, "<"),
    "above": (_percent_full, Quantity.PERCENT, ">"),
    "short": (lambda seen: seen.marks.short_ml(seen.standing), Quantity.VOLUME, ">="),
}
"""What heads a figure: where it is read, what it measures, and what a bare figure means."""


def _figure_test(heading: str, left: deque[str], units: Units) -> Holds:
    figure, quantity, bare = _FIGURES[heading]
    limit = _take_limit(left, quantity, bare, units)
    if limit is None:
        typed = left.popleft() if left else ""
        raise BadQuery(_figure_wanted(heading, typed, units), unfinished=not left)

    def holds(seen: Described) -> bool:
        value = figure(seen)
        return value is not None and limit.holds(value)

    return holds


def _take_limit(left: deque[str], quantity: Quantity, bare: str, units: Units) -> Bounds | None:
    """Take as many words as make one limit, "2 L" before "2"; None, and none taken, where no number of them does."""
    for count in range(min(_MOST_WORDS_OF_A_FIGURE, len(left)), 0, -1):
        limit = limit_in(" ".join(list(left)[:count]), quantity, bare, units)
        if limit is not None:
            for _ in range(count):
                left.popleft()
            return limit
    return None


def _figure_wanted(heading: str, typed: str, units: Units) -> str:
    unit = units.usual(Quantity.VOLUME)
    wanted = {
        "level": "how full in %, such as level <95% or level 50-90%",
        "below": "how full in %, such as below 95%",
        "above": "how full in %, such as above 95%",
        "short": f"{unit.called}, such as short >{unit.written(unit.example.replace('.', units.decimal))}",
    }.get(heading, f"a number, such as {heading} 3 or {heading} 1-2")
    return f"{heading} wants {wanted}" + (f"; not '{typed[:30]}'" if typed else "")
