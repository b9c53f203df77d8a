"""How ready each barrel is, as text: the same in the command, on the first page and on the vessel's page."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.ready.definitions import NONE_YET
from cooperage.programme.ready.limits import AGE, called, limits_words, unit_of
from cooperage.programme.ready.readiness import LimitNow, Readiness, ReadyState, in_turn
from cooperage.programme.upkeep.looks import INTERVAL, VERDICT
from cooperage.units import DEFAULT, Quantity, Units, local_day, show

READY_HEAD = ("barrel", "lot", "state", "chance", "window", "first holds, 80 of 100", "look next", "now")
HOW_READY = (
    "Chance: that all limits hold today. Window: from when to when it is at least\n"
    "what the definition asks for. Look next: when a look shows most, and before\n"
    "the time for it may be over; what a taster decided goes before that.\n"
    "Now: each figure as it is today; a score lies within its ± 80 times in 100."
)
_SURE = 0.995
_WORTH_A_WORD = 0.05


def chance_in_words(chance: float | None) -> str:
    """Return a chance in per cent, and never that it is certain."""
    if chance is None:
        return "?"
    if chance > _SURE:
        return ">99 %"
    return "<1 %" if chance < 1 - _SURE else f"{100 * chance:.0f} %"


def _day(day: date | None, today: date, far: str) -> str:
    if day is None:
        return far
    return f"{day.day} {day:%b}" if day.year == today.year else f"{day.day} {day:%b %Y}"


def window_words(found: Readiness, today: date) -> str:
    """Return from when to when a barrel is ready: "now to 4 May", "from 12 Jan"; what its best is where never."""
    if found.opens is None:
        best = found.best_chance
        return "" if best is None else f"none within a year, {chance_in_words(best)} at best"
    begins = "now" if found.opens <= today else _day(found.opens, today, "")
    if found.closes is None:
        return "now on" if begins == "now" else f"from {begins}"
    return f"{begins} to {_day(found.closes, today, '')}"


def interval_words(found: Readiness, today: date) -> str:
    """Return between which days the limits first hold, 80 times in 100."""
    if found.chance is None:
        return ""
    low, high = found.most
    if low is None:
        return "later than a year"
    if low <= today and high is None:
        return "any time"
    begins = "today" if low <= today else _day(low, today, "")
    return begins if low == high else f"{begins} to {_day(high, today, 'later than a year')}"


def pull_words(found: Readiness, today: date) -> str:
    """Return when pulling it is least off its window on average."""
    return "now" if found.pull is not None and found.pull <= today else _day(found.pull, today, "later than a year")


def look_words(found: Readiness, at: datetime) -> str:
    """Return when to taste it next, and by what, where that is not the forecast: the taster, or its interval."""
    if found.next_look is None:
        return ""
    day, today = local_day(found.next_look), local_day(at)
    when = "today" if day == today else f"{_day(day, today, '')}{', overdue' if day < today else ''}"
    return when + {VERDICT: " (taster)", INTERVAL: " (interval)"}.get(found.look_by, "")


def figures_words(found: Readiness, units: Units = DEFAULT) -> str:
    """Return what each thing with a limit is now: "overall 13.2 ±0.9, oak 5.1 ±0.6"; or what is not known."""
    figures = ", ".join(_figure_words(each, units) for each in found.figures)
    return "; ".join(filter(None, (figures, *found.missing)))


def _figure_words(now: LimitNow, units: Units) -> str:
    quantity = PROPERTIES[now.name].quantity if now.name in PROPERTIES else Quantity.NUMBER
    if now.name in PROPERTIES:
        return f"{called(now.name)} {show(quantity, now.value, units)}"
    value = show(quantity, now.value, units, digits=1)
    if now.name == AGE:
        return f"{value} months in wood"
    return f"{now.name} {value} ±{show(quantity, (now.high - now.low) / 2, units, digits=1)}"


def ready_cells(found: Readiness, at: datetime, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return one barrel in the columns of `READY_HEAD`."""
    today = local_day(at)
    known = found.chance is not None
    return (
        found.vessel,
        found.lot,
        _state_called(found),
        chance_in_words(found.chance) if known else "",
        window_words(found, today) if known else "",
        interval_words(found, today),
        look_words(found, at),
        figures_words(found, units),
    )


def ready_words(found: Readiness, at: datetime, units: Units = DEFAULT) -> str:
    """Return one barrel in a line: "nearly ready, 44 %; from 12 Jan; look next 4 Jan; overall 13.2 ±0.9"."""
    today = local_day(at)
    window = window_words(found, today) if found.chance is not None else ""
    look = look_words(found, at)
    parts = (_state_words(found), window, f"look next {look}" if look else "", figures_words(found, units))
    return "; ".join(filter(None, parts))


def _state_words(found: Readiness) -> str:
    state = _state_called(found)
    return state if found.chance is None else f"{state}, {chance_in_words(found.chance)}"


def _state_called(found: Readiness) -> str:
    """Return the state; that a verdict gave it, where it did: then the chance may be small."""
    return f"{found.state.value} by verdict" if found.state_by else found.state.value


def ready_parts(found: Readiness, at: datetime, units: Units = DEFAULT) -> list[str]:
    """Return one barrel in a few lines: state and chance, window, risk, next look, and each limit with what is now."""
    today, lines = local_day(at), [_state_words(found)]
    if found.chance is not None:
        lines.append(f"window: {window_words(found, today)}")
        if (first := interval_words(found, today)) not in ("", "any time"):
            lines.append(f"first holds, 80 of 100: {first}")
        if not found.missing:
            lines.append(f"best pulled: {pull_words(found, today)}")
        if found.passed is not None and found.passed >= _WORTH_A_WORD:
            lines.append(f"its time is over: {chance_in_words(found.passed)}")
    if look := look_words(found, at):
        lines.append(f"look next: {look}")
    now = {each.name: each for each in found.figures}
    for limit in found.limits:
        own = now.get(limit.name)
        beside = "" if own is None else f": {_figure_words(own, units)}, holds {chance_in_words(own.chance)}"
        lines.append(f"{limit.words(units)}{beside}")
    return [*lines, *found.missing]


def ready_rows(found: Iterable[Readiness]) -> list[tuple[str, str]]:
    """Return the rows of the first page: what is ready, and what nearly; a row for each that has barrels."""
    by_state: dict[ReadyState, list[str]] = {}
    for each in in_turn(found):
        by_state.setdefault(each.state, []).append(each.vessel)
    words = {ReadyState.READY: "Ready", ReadyState.NEARLY: "Nearly", ReadyState.PASSED: "Passed"}
    return [(word, " ".join(by_state[state])) for state, word in words.items() if state in by_state]


def ready_line(found: Mapping[str, Readiness], most: int = 5) -> list[str]:
    """Return what is ready and nearly so in a few words each; that nothing is defined, where nothing is."""
    if not found:
        return [NONE_YET]
    rows = [(word, tags.split()) for word, tags in ready_rows(found.values())]
    lines = [f"{len(tags)} {word.lower()}{_listed(tags, most)}" for word, tags in rows]
    return lines or [_nothing_ready(found)]


def _listed(tags: Sequence[str], most: int) -> str:
    return f": {' '.join(tags)}" if len(tags) <= most else f": {' '.join(tags[:most])} and {len(tags) - most} more"


def _nothing_ready(found: Mapping[str, Readiness]) -> str:
    unknown = sum(each.state is ReadyState.UNKNOWN for each in found.values())
    none = "none ready within six weeks"
    return f"{none}; {unknown} with too little history" if unknown else none


def ready_brief(found: Readiness) -> dict[str, Any]:
    """Return one barrel as scripts read it where only little is asked."""
    brief = ("vessel", "lot", "state", "chance", "opens", "closes", "next_look")
    return {key: value for key, value in ready_row(found).items() if key in brief}


def _rounded(chance: float | None) -> float | None:
    return None if chance is None else round(chance, 3)


def ready_row(found: Readiness, units: Units = DEFAULT) -> dict[str, Any]:
    """Return one barrel as scripts read it; chances are from 0 to 1, values in the unit of their limit."""
    half_from, half_to = found.half
    most_from, most_to = found.most
    return {
        "vessel": found.vessel,
        "lot": found.lot,
        "state": found.state.value,
        "state_by": found.state_by or "forecast",
        "definition": limits_words(found.limits, units),
        "wanted_chance": found.wanted,
        "risk": found.risk,
        "chance": _rounded(found.chance),
        "opens": _iso(found.opens),
        "closes": _iso(found.closes),
        "likely": _iso(found.likely),
        "likely_50": [_iso(half_from), _iso(half_to)],
        "likely_80": [_iso(most_from), _iso(most_to)],
        "passed_chance": _rounded(found.passed),
        "best_pulled": _iso(found.pull),
        "next_look": found.next_look,
        "next_look_by": found.look_by,
        "limits": [
            {"name": each.name, "scale": each.scale, "unit": unit_of(each.name), "value": each.value}
            | {"low": each.low, "high": each.high, "chance": _rounded(each.chance)}
            for each in found.figures
        ],
        "missing": list(found.missing),
        "chance_by_week": list(found.weeks),
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
