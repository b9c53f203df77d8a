"""The stocks of a blend in lines; the words of the answer are in `cooperage.blending.answer.summary`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.blending.brief.figures import show_figure
from cooperage.book import Cellar
from cooperage.tasting.vessels import VesselScore
from cooperage.units import Quantity, Units, show, show_day

_STOCK = "{:<5} {:<8} {:>9} {:>9} {:>5}  {}"
STOCKS_HEAD = _STOCK.format("rule", "stock", "draw", "left", "score", "words")


@dataclass(frozen=True, slots=True)
class StockRow:
    """A stock in the answer: what is drawn and left [L], None where nothing is drawn."""

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
        StockRow(draw.stock, draw.litres, draw.left_l, rules.get(draw.stock, ""), scores.get(draw.stock))
        for draw in draws
    ]
    others = (tag for tag in stocks if tag not in drawn and tag in cellar)
    rows += [
        StockRow(tag, None, cellar[tag].litres, rules.get(tag, ""), scores.get(tag), why.get(tag, "")) for tag in others
    ]
    return rows


def stock_line(row: StockRow, units: Units) -> str:
    """Return a stock in one line."""
    draw = "-" if row.litres is None else show_figure("litres", row.litres, units)
    left = "unlimited" if row.left is None else show_figure("litres", row.left, units)
    known = None if row.score is None else row.score.of_100
    mean = "-" if known is None else show_figure("score", known, units)
    words = f"left out: {row.left_out}" if row.left_out else "; ".join(row.score.words) if row.score else ""
    return _STOCK.format(row.rule, row.tag, draw, left, mean, words)


def stock_words(row: StockRow, units: Units) -> str:
    """Return why a stock was left out, or how it was scored last."""
    if row.left_out:
        return f"{row.tag} is left out: {row.left_out}."
    if row.score is None:
        return f"{row.tag} has not been scored."
    given = row.score
    words = f": {'; '.join(given.words)}" if given.words else ""
    when = f"by {given.tasters} on {show_day(given.at)}{words}"
    if given.mean is None or given.of_100 is None:
        return f"{row.tag} was scored {when}; no glass links all the tasters of {given.flight}, so it has no score."
    mean = show(Quantity.NUMBER, given.mean, units, digits=1)
    return f"{row.tag} scored {mean} on {given.scale}, {show_figure('score', given.of_100, units)} of 100, {when}."
