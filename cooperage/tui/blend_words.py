"""The answer to a brief in lines: how it ended, what the blend comes to, which limits bind or clash."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from textwrap import fill

from cooperage.blending.answer import Answer, Draw, Nearest
from cooperage.blending.typed import short_label, show_figure
from cooperage.book import Cellar
from cooperage.tasting.flights import VesselScore
from cooperage.units import Quantity, Units, show, show_day

_TOLD_FIRST = (
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

_STOCK = "{:<5} {:<8} {:>9} {:>9} {:>5}  {}"
STOCKS_HEAD = _STOCK.format("rule", "stock", "draw", "left", "score", "words")


@dataclass(frozen=True, slots=True)
class StockRow:
    """One stock as the answer sees it: what is drawn and left [l], None where nothing is drawn."""

    tag: str
    litres: float | None
    left: float | None
    rule: str
    score: VesselScore | None
    left_out: str = ""


def plan_of(answer: Answer | None) -> Sequence[Draw]:
    """Return the draws of the plan, or those of the nearest blend where there is no plan."""
    if answer is None:
        return ()
    return answer.draws or (answer.nearest.draws if answer.nearest else ())


def stock_rows(
    answer: Answer | None,
    cellar: Cellar,
    stocks: Iterable[str],
    scores: Mapping[str, VesselScore],
    rules: Mapping[str, str],
) -> list[StockRow]:
    """List the draws in the order to pull them, then every other stock in walking order."""
    draws = plan_of(answer)
    why = {out.stock: out.why for out in answer.left_out} if answer else {}
    drawn = {draw.stock for draw in draws}
    rows = [
        StockRow(draw.stock, draw.litres, draw.left, rules.get(draw.stock, ""), scores.get(draw.stock))
        for draw in draws
    ]
    others = (tag for tag in stocks if tag not in drawn and tag in cellar)
    rows += [
        StockRow(tag, None, cellar[tag].litres, rules.get(tag, ""), scores.get(tag), why.get(tag, "")) for tag in others
    ]
    return rows


def stock_line(row: StockRow, units: Units) -> str:
    """Tell a stock in one line."""
    draw = "-" if row.litres is None else show_figure("litres", row.litres, units)
    left = "no end" if row.left is None else show_figure("litres", row.left, units)
    mean = "-" if row.score is None else show_figure("score", row.score.mean, units)
    words = f"left out: {row.left_out}" if row.left_out else "; ".join(row.score.words) if row.score else ""
    return _STOCK.format(row.rule, row.tag, draw, left, mean, words)


def stock_words(row: StockRow, units: Units) -> str:
    """Tell why a stock was left out, or how it tasted last."""
    if row.left_out:
        return f"{row.tag} is left out: {row.left_out}."
    if row.score is None:
        return f"{row.tag} has not been scored."
    given = row.score
    mean = show_figure("score", given.mean, units)
    words = f": {'; '.join(given.words)}" if given.words else ""
    return f"{row.tag} scored {mean} on {given.scale} by {given.tasters} on {show_day(given.at)}{words}"


def headline(answer: Answer, units: Units, called: str = "") -> str:
    """Tell how the solve ended; or what a plan is called that is not the answer of the solve itself."""
    litres = show_figure("litres", answer.blend.get("litres"), units)
    count = f"{len(answer.draws)} stock{'s' if len(answer.draws) != 1 else ''}"
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
    return "Time ran out before any plan was found" + (". The nearest so far:" if plan_of(answer) else ".")


def in_told_order(names: Iterable[str]) -> list[str]:
    """Put the figures of a blend in the order in which they are told: those most looked for first."""
    places = {name: place for place, name in enumerate(("litres", *_TOLD_FIRST))}
    return sorted(names, key=lambda name: places.get(name, len(places)))


def figures(answer: Answer, units: Units, width: int) -> str:
    """Tell the blend's figures, at its true mixed volume, in lines that keep a number with its name and unit."""
    blend = answer.blend or (answer.nearest.blend if answer.nearest else {})
    names = [name for name in in_told_order(blend) if name != "litres"]
    told = [f"{short_label(name)} {show_figure(name, blend[name], units)}" for name in names if blend[name] is not None]
    litres = [show_figure("litres", blend["litres"], units)] if not answer.draws and "litres" in blend else []
    unbroken = ", ".join(part.replace(" ", "\u00a0") for part in (*litres, *told))
    return fill(unbroken, max(20, width)).replace("\u00a0", " ")


def reasons(answer: Answer, units: Units) -> list[str]:
    """Tell what holds the plan back; for an impossible brief, what clashes, what is missed, what would close it."""
    return list(_reasons(answer, units))


def _reasons(answer: Answer, units: Units) -> Iterator[str]:
    if answer.conflict:
        yield "These limits clash:"
        yield from (f"· {clash.words}" for clash in answer.conflict)
    if answer.nearest is not None:
        yield from _of_nearest(answer.nearest, units)
    if answer.binding:
        yield "What holds it back:"
        dearest_first = sorted(answer.binding, key=lambda binding: -(binding.price or 0.0))
        yield from (f"· {binding.words}" for binding in dearest_first)
    yield from answer.notes
    if answer.left_out:
        yield "Left out: " + ", ".join(f"{out.stock} ({out.why})" for out in answer.left_out)


def _of_nearest(nearest: Nearest, units: Units) -> Iterator[str]:
    if nearest.misses:
        yield "The nearest blend misses:"
        yield from (f"· {miss.words}" for miss in nearest.misses)
    if nearest.dosing:
        doses = " and ".join(f"{show_figure('litres', dose.litres, units)} of {dose.stock}" for dose in nearest.dosing)
        yield f"It could be met by dosing {doses}."
