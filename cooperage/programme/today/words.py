"""The words of the day at a glance, the same on the screen and on the command line."""

from datetime import date

from cooperage.programme.rounds.due import Task
from cooperage.programme.signs.sign import Sign, SignState
from cooperage.programme.today.aside import Aside, MonthSoFar
from cooperage.programme.today.day_walk import DayWalk, KegWork, RoomWork
from cooperage.programme.today.glance import Today
from cooperage.programme.today.kinds import day_named
from cooperage.programme.today.matters import Matter
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.units import Quantity, Units, counted, local_day, show, unit_written

_SURE = 0.995
SEEN = "sure"
"""How sure what was seen is."""
NOTHING_WRONG = "Nothing is wrong."


def sure_column(found: Matter | Sign) -> str:
    """Return how sure a row is, in per cent; of trouble that was seen, so; empty where it is no matter of chance."""
    if found.sure is None:
        return SEEN if found.state is SignState.TROUBLE else ""
    least, most = (found.sure, found.sure) if isinstance(found, Sign) else found.sure
    if least > _SURE:
        return ">99 %"
    low, high = f"{100 * least:.0f}", f"{100 * most:.0f}"
    return f"{low} %" if low == high else f"{low}–{high} %"


def alike_words(matter: Matter, width: int) -> str:
    """Return the vessels of a row of several, as many by name as fit, and how many more: "B-029 B-038 and 5 more"."""
    named = " ".join(matter.vessels)
    if len(named) <= width:
        return named
    count = len(matter.vessels)
    for shown in range(count - 1, 0, -1):
        words = f"{' '.join(matter.vessels[:shown])} and {count - shown} more"
        if len(words) <= width:
            return words
    return counted(count, "vessel")


def range_words(matter: Matter) -> str:
    """Return from what to what the figures of several reach: "0.33 to 0.38 mg/L"; empty where there is none."""
    low, high = matter.figure, matter.figure_to
    if low is None or high is None:
        return ""
    unit = f" {low.unit}" if low.unit else ""
    return f"{low.value}{unit}" if low.value == high.value else f"{low.value} to {high.value}{unit}"


def figure_in_words(matter: Matter) -> str:
    """Return the figure of a row in running text: "193.6 ±0.6 L"; of several, from what to what it reaches."""
    if len(matter.vessels) > 1:
        return range_words(matter)
    figure = matter.figure
    return "" if figure is None else " ".join(filter(None, (figure.value, figure.band, figure.unit)))


def reason_words(matter: Matter, width: int | None = None) -> str:
    """Return as many clauses of the reason as fit in a width, the weightiest always."""
    clauses = list(matter.reason)
    while width is not None and len(clauses) > 1 and len("; ".join(clauses)) > width:
        clauses.pop()
    return "; ".join(clauses)


def besides_words(work: RoomWork) -> str:
    """Return what a room asks for besides topping: "3 SO2, taste"; once is not counted."""
    order = tuple(Task)
    often = sorted(work.besides.items(), key=lambda each: (-each[1], order.index(each[0])))
    return ", ".join(f"{count} {TASK_WORDS[task]}" if count > 1 else TASK_WORDS[task] for task, count in often)


def keg_words(keg: KegWork, units: Units) -> str:
    """Return what a keg must give of what it holds: "10.8 of 29.9"."""
    give, hold = (show(Quantity.VOLUME, ml, units, with_unit=False) for ml in (keg.gives_ml, keg.holds_ml))
    return f"{give} of {hold}"


def kegs_verdict(walk: DayWalk, units: Units) -> str:
    """Return whether the kegs hold what they must give, and which do not; empty where nothing is to be topped."""
    short = [
        f"{keg.tag} holds {show(Quantity.VOLUME, keg.holds_ml, units)} of the "
        f"{show(Quantity.VOLUME, keg.gives_ml, units)} it must give"
        for keg in walk.kegs
        if keg.is_short
    ]
    if short:
        return f"▲ {'; '.join(short)}."
    return "Kegs hold enough." if walk.kegs else ""


def carry_words(walk: DayWalk, units: Units) -> tuple[str, ...]:
    """Return what sulphite to carry for what is under its floor, in full and ever shorter; empty where nothing is."""
    if not walk.sulphite_g:
        return ("",)
    grams = f"Carry {show(Quantity.MASS, walk.sulphite_g, units)} of metabisulphite"
    barrels = walk.low[0] if len(walk.low) == 1 else counted(len(walk.low), "barrel")
    return f"{grams} for {barrels}, and a kit to measure first.", f"{grams} for {barrels}.", f"{grams}."


def two_people_words(today: Today) -> str:
    """Return which orders want two people; empty without orders."""
    if not today.orders:
        return ""
    return f"Two people: {', '.join(today.two_people) or 'none'}."


def wood_words(today: Today, aside: Aside | None) -> list[str]:
    """Return what wood there is to think of: neutral barrels (once they are known), and empty ones."""
    neutral = "" if aside is None else _listed("neutral", aside.neutral)
    return [words for words in (neutral, _listed("empty", today.empty)) if words]


def _listed(what: str, tags: tuple[str, ...]) -> str:
    if len(tags) > _MOST_LISTED:
        return f"{len(tags)} {what}"
    return f"{len(tags)} {what}: {' '.join(tags)}" if tags else ""


_MOST_LISTED = 5


def flights_words(aside: Aside, today: Today) -> str:
    """Return the flights under way, and the readings that trials across barrels ask for today; empty without one."""
    open_ones = [
        f"flight {flight.code} open since {day_named(flight.poured_at, today.cellar.at)}" for flight in aside.flights
    ]
    return ", ".join([*open_ones, *(each.words for each in aside.sittings if not each.tags)])


def later_words(aside: Aside) -> str:
    """Return that entries came for what is filed; empty where none did."""
    if aside.later is None:
        return ""
    code, count = aside.later
    return f"{code} is filed, {counted(count, 'entry', 'entries')} came later"


def month_words(month: MonthSoFar, walk: DayWalk, units: Units) -> tuple[str, ...]:
    """Return what barrels lost in the month as it is written so far, beside what is usual by now; ever shorter.

    What a barrel lost is written as it is topped: while toppings are due, less is written than was lost. Marked where
    it is more than usual.
    """
    lost = f"{show(Quantity.VOLUME, month.lost_ml, units)} written in {local_day(month.since):%b}"
    if month.usual is None:
        return (lost,)
    usual, band = (show(Quantity.VOLUME, ml, units, with_unit=False) for ml in (month.usual.ml, month.usual.reach_ml))
    mark, still = "○ " if month.is_more else "", ", toppings due not yet" if walk.top_ml else ""
    by_now = f"usual by now {usual} ±{band} {unit_written(Quantity.VOLUME, units)}"
    return f"{mark}{lost}{still}; {by_now}", f"{mark}{lost}; {by_now}", f"{mark}{lost}"


def head_day(day: date) -> str:
    """Return a day with its name: "Thursday 26 November"."""
    return f"{day:%A} {day.day} {day:%B}"


def full_words(today: Today) -> str:
    """Return how many barrels are full and empty."""
    return f"{today.full} full, {len(today.empty)} empty"


def counts_words(today: Today) -> str:
    """Return how many vessels are in trouble, and how many stops the walk has."""
    return f"▲ {today.count(SignState.TROUBLE)}  ○ {counted(today.walk.stops, 'stop')}"
