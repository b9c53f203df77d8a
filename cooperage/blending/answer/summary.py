"""The answer to a brief in the person's words, for every door: how it ended, what it comes to, what holds it back."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from statistics import NormalDist

from cooperage.blending.answer.answer import Answer, Bottling, Nearest
from cooperage.blending.brief.figures import figure_name, format_chance, show_figure
from cooperage.blending.brief.quantities import DeviationText, in_units
from cooperage.units import Quantity, Units, counted, show

BAND = NormalDist().inv_cdf(0.95)
"""Standard deviations on each side that hold a figure 90 times in 100."""
_MOST_LEFT_OUT = 6
"""Stocks left out that are listed by name; JSON lists all."""
_SHOWN_FIRST = (
    "abv",
    "sugar_g_l",
    "ta_g_l",
    "va_g_l",
    "free_so2_mg_l",
    "total_so2_mg_l",
    "score",
    "cost_per_l",
    "days_in_wood",
)


def headline(answer: Answer, units: Units, called: str = "") -> str:
    """Return how the solve ended; or what a plan is called that is not the answer of the solve itself."""
    litres = show_figure("litres", answer.blend.get("litres"), units)
    count = counted(len(answer.draws), "stock")
    if called:
        return f"{called}: {litres} from {count}"
    match answer.status:
        case "optimal":
            return f"Best plan: {litres} from {count}"
        case "feasible":
            gap = (
                ""
                if answer.gap is None
                else f", at most {show(Quantity.PERCENT, 100 * answer.gap, units)} from the best"
            )
            return f"Time ran out with a plan: {litres} from {count}{gap}"
        case "infeasible":
            return "No blend meets this brief" + (". The nearest:" if answer.nearest and answer.nearest.draws else ".")
        case "unbounded":
            return "Nothing keeps this brief within bounds."
    has_nearest = answer.nearest is not None and answer.nearest.draws
    return "Time ran out before any plan was found" + (". The nearest so far:" if has_nearest else ".")


def order_figures(names: Iterable[str]) -> list[str]:
    """Put the figures of a blend in the order in which they are shown: those most looked for first."""
    places = {name: place for place, name in enumerate(("litres", *_SHOWN_FIRST))}
    return sorted(names, key=lambda name: places.get(name, len(places)))


def format_figures(
    blend: Mapping[str, float | None], units: Units, uncertainty: Mapping[str, float] | None = None
) -> list[str]:
    """Return the known figures of a blend but its litres, at true mixed volume, each with name, unit and doubt."""
    doubts = uncertainty or {}
    return [
        f"{figure_name(name)} {show_figure(name, blend[name], units)}"
        + (f" ± {DeviationText(doubts[name]).show(units)}" if doubts.get(name) else "")
        for name in order_figures(blend)
        if name != "litres" and blend[name] is not None
    ]


def figures(answer: Answer, units: Units) -> str:
    """Return the blend's figures in a line."""
    blend = answer.blend or (answer.nearest.blend if answer.nearest else {})
    litres = [show_figure("litres", blend["litres"], units)] if not answer.draws and "litres" in blend else []
    return ", ".join((*litres, *format_figures(blend, units)))


def value_words(answer: Answer, units: Units) -> str:
    """Return what a plan costs: a bottle and how many it fills, else a litre; empty where no cost is known."""
    cost, filled = answer.blend.get("cost_per_l"), answer.bottling
    if not answer.draws or cost is None:
        return ""
    if filled is None or filled.cost_per_bottle is None:
        return show_figure("cost_per_l", cost, units)
    each = show(Quantity.MONEY, filled.cost_per_bottle, units)
    return f"{each} a bottle · {filled.bottles} of {filled.bottle_ml:g} mL"


def other_figures(answer: Answer, limited: Collection[str], units: Units) -> str:
    """Return the figures of a plan that the brief does not limit, with their bands; empty where there is no plan."""
    rest = {name: value for name, value in answer.blend.items() if name not in limited and name != "cost_per_l"}
    bands = {name: BAND * deviation for name, deviation in answer.uncertainty.items()}
    found = format_figures(rest, units, bands) if answer.draws else []
    return f"It comes to {', '.join(found)}." if found else ""


def tidy_line(answer: Answer, units: Units) -> str:
    """Return in a few words how many barrels a plan leaves part full, and what fewer of them cost; empty for none."""
    price, left = answer.price_of_tidiness, answer.part_full
    if price is None or left is None or not price.part_full_of_best:
        return f"{left} part full" if left else ""
    if left == price.part_full_of_best and not price.price:
        return f"{left} part full; no plan near has fewer"
    percent = 0.0 if price.price_percent is None else price.price_percent
    off = f"{show(Quantity.PERCENT, percent, units, digits=1)} off best" if percent else "at no cost"
    return f"{left or 'None'} part full, not {price.part_full_of_best}: {off}"


def bottling_words(bottling: Bottling, units: Units) -> str:
    """Return the whole bottles that a blend fills."""
    cases = "" if bottling.cases is None else f", {counted(bottling.cases, 'case')}"
    cost = bottling.cost_per_bottle
    each = "" if cost is None else f", {show(Quantity.MONEY, cost, units)} each"
    return f"Fills {counted(bottling.bottles, 'bottle')} of {bottling.bottle_ml:g} mL{cases}{each}."


def reaches(answer: Answer, units: Units) -> list[str]:
    """Return within which prices of the stocks the plan stays the best."""
    return [in_units(reach.words, units) for reach in answer.ranging if reach.what == "cost"]


def reasons(answer: Answer, units: Units) -> list[str]:
    """Return what holds the plan back; for an impossible brief, what clashes, what is missed, what would close it."""
    return list(_reasons(answer, units))


def reasons_beside(answer: Answer, units: Units) -> list[str]:
    """Return the same for the side of a table of the limits, which has the chances already."""
    return list(_reasons(answer, units, with_chances=False))


def _reasons(answer: Answer, units: Units, *, with_chances: bool = True) -> Iterator[str]:
    if answer.conflict:
        yield "These limits clash:"
        yield from (f"· {in_units(clash.words, units)}" for clash in answer.conflict)
    if answer.nearest is not None:
        yield from _of_nearest(answer.nearest, units)
    if answer.chances and with_chances:
        yield "How sure (± one standard deviation; a reading of the blend errs besides):"
        yield from (f"· {in_units(chance.words, units)}" for chance in answer.chances)
        if len(answer.chances) > 1 and answer.chance_of_all is not None:
            yield f"· all of these together: {format_chance(answer.chance_of_all)} sure"
    if answer.price_of_tidiness is not None and answer.price_of_tidiness.words:
        yield f"{in_units(answer.price_of_tidiness.words, units)}."
    if answer.binding:
        yield "Limits reached:"
        dearest_first = sorted(answer.binding, key=lambda binding: -(binding.price or 0.0))
        yield from (f"· {in_units(binding.words, units)}" for binding in dearest_first)
    if answer.readings:
        yield "Worth measuring, the best first:"
        yield from (f"· {in_units(reading.words, units)}" for reading in answer.readings)
    yield from (in_units(note, units) for note in answer.notes)
    if answer.left_out:
        named = [f"{out.stock} ({out.why})" for out in answer.left_out[:_MOST_LEFT_OUT]]
        more = len(answer.left_out) - len(named)
        yield f"Left out: {', '.join(named)}{f' and {more} more' if more else ''}"


def _of_nearest(nearest: Nearest, units: Units) -> Iterator[str]:
    if nearest.misses:
        yield "The nearest blend misses:"
        yield from (f"· {in_units(miss.words, units)}" for miss in nearest.misses)
    if nearest.dosing:
        doses = " and ".join(f"{show_figure('litres', dose.litres, units)} of {dose.stock}" for dose in nearest.dosing)
        yield f"It could be met by dosing {doses}."
