"""One vessel as text: its place, its lots, its wood, and the line that lists it.

Screens, commands and cards all read it here, in the person's units. The words of an entry are in `words.py`.
"""

from collections.abc import Iterable, Iterator

from cooperage.book.cellar import Cellar, Figure, Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.store.registry import Barrel, Position
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_ago


def place_words(position: Position) -> str:
    """Return a position in full: "North · row 1 · bay 4 · tier 2"; unknown parts are left out."""
    room, row, bay, tier = position
    parts = [room or "", f"row {row}" if row else "", f"bay {bay}" if bay else "", f"tier {tier}" if tier else ""]
    return " · ".join(part for part in parts if part) or "no position"


def chalked_place(position: Position, room_letters: int | None = None) -> str:
    """Return a position as it is chalked on a rack, and typed: "North 1.4.2"; a long room is cut to `room_letters`."""
    room, *rest = position
    parts = ((room or "")[:room_letters], ".".join(str(part) for part in rest if part is not None))
    return " ".join(part for part in parts if part)


def lot_shares(standing: Standing) -> list[str]:
    """Return each lot in a vessel with its share, the largest first: "M-24-3 86 %"; a trace is never 0 %."""
    return [f"{code} {_share(share)}" for code, share in standing.lots.items()]


def _share(share: float) -> str:
    """Return a share in whole per cent: "a trace" where that would be nothing, "over 99 %" where it would be all."""
    percent = round(100 * share)
    return "a trace" if not percent else "over 99 %" if percent == 100 and share < 1 else f"{percent} %"


def lots_words(standing: Standing, most: int = 3) -> str:
    """Return what a vessel holds by lot: "M-24-3 86 %, M-23-1 14 %"; one lot by its code alone, none as "empty"."""
    shares = lot_shares(standing)
    if len(shares) < 2:
        return next(iter(standing.lots), "empty")
    return ", ".join(shares[:most]) + (f" and {len(shares) - most} more" if len(shares) > most else "")


IN_QUARANTINE = "in quarantine"
"""Why a vessel's mead goes into no blend and tops no other."""


def judged_words(standing: Standing) -> str:
    """Return what was last decided about a vessel and when: "look again in 8 weeks, decided 12 days ago (F-4)".

    A quarantine that came with mead names the vessel: "quarantine carried from B-028, decided 12 days ago (F-4)".
    """
    judged = standing.judged
    if judged is None:
        return ""
    flight = f" ({judged.flight})" if judged.flight else ""
    carried = f" carried from {judged.carried_from}" if judged.carried_from else ""
    return f"{judged.decided.words}{carried}, decided {show_ago(judged.at, standing.at)}{flight}"


ALL_BANDS = "all bands hold 90 times of 100"


def figure_words(
    figure: Figure, units: Units = DEFAULT, *, with_unit: bool = True, with_added: bool = True
) -> tuple[str, str]:
    """Return a figure's value, and beside it its band and source: "16 to 22; 25 measured 45 days ago, 9 added since".

    One just measured, or never aged, has its source alone. See ALL_BANDS for how often a band holds.
    """
    declared = PROPERTIES.get(figure.name)
    quantity, digits = (Quantity.SULPHITE, 2) if declared is None else (declared.quantity, None)
    value = show(quantity, figure.value, units, with_unit=with_unit, digits=digits)
    at = "" if figure.at_celsius is None else f"; at {show(Quantity.TEMPERATURE, figure.at_celsius, units)}"
    if figure.low is None or figure.high is None or figure.how != "calculated":
        return value, f"{figure.source}{at}"
    low, high, measured = (
        show(quantity, each, units, with_unit=False, digits=digits)
        for each in (figure.low, figure.high, figure.measured)
    )
    band = f"{low} to {high}"
    if declared is None:
        return value, f"{band}{at}"
    known = f"{measured} measured {figure.ago}" if figure.measured is not None else "not measured in this fill"
    if with_added and figure.added > 0:
        known += f", {show(quantity, figure.added, units, with_unit=False, digits=digits)} added since"
    return value, f"{band}; {known}"


def basis_lines(figures: Iterable[Figure]) -> list[str]:
    """Return what figures that were aged rest on, those that rest on the same in one line: "pH, sugar: learned ..."."""
    labels: dict[str, list[str]] = {}
    for figure in figures:
        if figure.basis and figure.how == "calculated" and figure.name in PROPERTIES:
            labels.setdefault(figure.basis, []).append(PROPERTIES[figure.name].label)
    return [f"{', '.join(names)}: {basis}" for basis, names in labels.items()]


def empty_words(standing: Standing) -> str:
    """Return since when a vessel is empty: "empty for 158 days"; "empty" where that is not known."""
    days = standing.calendar_days_empty
    return "empty" if days is None else f"empty for {counted(days, 'day')}"


def age_words(standing: Standing) -> str:
    """Return how long a barrel has held this fill: "704 days in this barrel"; nothing where that is not known."""
    days = standing.calendar_days_in_wood
    return "" if days is None else f"{counted(days, 'day')} in this barrel"


def wood_words(standing: Standing) -> str:
    """Return a barrel's wood and what it held before: "french oak, held red wine"; any other vessel by its kind."""
    barrel = standing.vessel.barrel
    if barrel is None:
        return standing.vessel.kind
    wood = barrel.wood or "unknown wood"
    return f"{wood}, {'new' if barrel.past_kind == 'none' else f'held {_past_words(barrel)}'}"


def _past_words(barrel: Barrel) -> str:
    return barrel.past_life or barrel.past_kind or "something unknown"


def fill_words(standing: Standing) -> str:
    """Return which fill of the barrel this is: "fill 3", or "fill ?" where it is unknown."""
    return "fill ?" if standing.fill_number is None else f"fill {standing.fill_number}"


def capacity_words(standing: Standing) -> str:
    """Return how well the capacity is known: "capacity measured", "capacity nominal", "capacity unknown"."""
    return f"capacity {standing.vessel.capacity_how}"


def cooperage_words(barrel: Barrel) -> str:
    """Return how a barrel was made: "2019, toast medium, 1 earlier fill; not known: cooper, forest".

    What is not known comes last, where a narrow screen may cut it off.
    """
    parts = dict(_made(barrel))
    unknown = [name for name, words in parts.items() if not words and name != "char"]
    known = ", ".join(words for words in parts.values() if words)
    return known + (f"{'; ' if known else ''}not known: {', '.join(unknown)}" if unknown else "")


def _made(barrel: Barrel) -> Iterator[tuple[str, str]]:
    """Yield the name of each fact of the making and its words, empty where it is unknown."""
    earlier = None if barrel.fills_before is None else counted(barrel.fills_before, "earlier fill")
    for name, value, words in (
        ("cooper", barrel.cooper, "{}"),
        ("year", barrel.year, "{}"),
        ("forest", barrel.forest, "{}"),
        ("toast", barrel.toast_staves, "toast {}"),
        ("heads", barrel.toast_heads, "heads {}"),
        ("char", barrel.char, "char {}"),
        ("seasoning", barrel.seasoning_months, "seasoned {} months"),
        ("earlier fills", earlier, "{}"),
    ):
        yield name, "" if value in (None, "") else words.format(value)


def lot_names(cellar: Cellar) -> dict[str, str]:
    """Return the names of the lots in each vessel by its tag: words by which a list finds it besides its line."""
    return {s.tag: ", ".join(cellar.lots[code].name for code in s.lots if code in cellar.lots) for s in cellar}


def vessel_line(standing: Standing, units: Units = DEFAULT) -> str:
    """Return a vessel, what it holds of what it can hold, and its lots, in one line of a list to choose from."""
    held, whole = (show(Quantity.VOLUME, ml, units) for ml in (standing.ml, standing.vessel.capacity_ml))
    return f"{standing.tag:<8} {standing.vessel.kind:<8} {held:>10} of {whole:>10}  {lots_words(standing, 2)}"
