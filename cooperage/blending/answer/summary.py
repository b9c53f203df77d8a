"""The answer to a brief in the person's words, for every door: how it ended, what it comes to, what holds it back."""

from collections.abc import Iterable, Iterator, Mapping
from textwrap import fill

from cooperage.blending.answer.answer import Answer, Bottling, Nearest
from cooperage.blending.brief.figures import figure_name, format_chance, show_figure
from cooperage.blending.brief.quantities import DeviationText, in_units
from cooperage.units import Quantity, Units, counted, show

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


def figures(answer: Answer, units: Units, width: int) -> str:
    """Return the blend's figures in lines that keep a number with its name and unit."""
    blend = answer.blend or (answer.nearest.blend if answer.nearest else {})
    litres = [show_figure("litres", blend["litres"], units)] if not answer.draws and "litres" in blend else []
    unbroken = ", ".join(part.replace(" ", "\u00a0") for part in (*litres, *format_figures(blend, units)))
    return fill(unbroken, max(20, width)).replace("\u00a0", " ")


def tidy_line(answer: Answer, units: Units) -> str:
    """Return in a few words how many barrels a plan leaves part full, and what fewer of them cost; empty for none."""
    price, left = answer.price_of_tidiness, answer.part_full
    if price is None or left is None or not price.part_full_of_best:
        return f"{left} part full" if left else ""
    if left == price.part_full_of_best and not price.price:
        return f"{left} part full; no plan near has fewer"
    percent = 0.0 if price.price_percent is None else price.price_percent
    off = f"{show(Quantity.PERCENT, percent, units, digits=1)} off the best" if percent else "at no cost"
    return f"{left} part full, not {price.part_full_of_best}: {off}"


def bottling_words(bottling: Bottling, units: Units) -> str:
    """Return the whole bottles that a blend fills."""
    cases = "" if bottling.cases is None else f", {counted(bottling.cases, 'case')}"
    cost = bottling.cost_per_bottle
    each = "" if cost is None else f", {show(Quantity.MONEY, cost, units)} each"
    return f"Fills {counted(bottling.bottles, 'bottle')} of {bottling.bottle_ml:g} ml{cases}{each}."


def reaches(answer: Answer, units: Units) -> list[str]:
    """Return within which prices of the stocks the plan stays the best."""
    return [in_units(reach.words, units) for reach in answer.ranging if reach.what == "cost"]


def reasons(answer: Answer, units: Units) -> list[str]:
    """Return what holds the plan back; for an impossible brief, what clashes, what is missed, what would close it."""
    return list(_reasons(answer, units))


def _reasons(answer: Answer, units: Units) -> Iterator[str]:
    if answer.conflict:
        yield "These limits clash:"
        yield from (f"· {in_units(clash.words, units)}" for clash in answer.conflict)
    if answer.nearest is not None:
        yield from _of_nearest(answer.nearest, units)
    if answer.chances:
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
        yield "Left out: " + ", ".join(f"{out.stock} ({out.why})" for out in answer.left_out)


def _of_nearest(nearest: Nearest, units: Units) -> Iterator[str]:
    if nearest.misses:
        yield "The nearest blend misses:"
        yield from (f"· {in_units(miss.words, units)}" for miss in nearest.misses)
    if nearest.dosing:
        doses = " and ".join(f"{show_figure('litres', dose.litres, units)} of {dose.stock}" for dose in nearest.dosing)
        yield f"It could be met by dosing {doses}."
