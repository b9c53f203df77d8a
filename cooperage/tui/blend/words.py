"""The stocks of a blend in lines; the words of the answer are in `cooperage.blending.answer.summary`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.blending.brief.figures import show_figure
from cooperage.blending.brief.quantities import in_units
from cooperage.blending.stocks.near import Near
from cooperage.blending.stocks.part_full import DRAINED_L
from cooperage.book import Cellar
from cooperage.tasting.vessels import VesselScore
from cooperage.units import Quantity, Units, show, show_day

_STOCK = "{:<1} {:<7} {:>8} {:>9} "
_SCORE = "{:>5}  "
_WIDE = 60
"""From so many columns on a stock's score stands in its line."""
_MARKS = {"must": "+", "never": "-"}
"""A stock under a rule is marked by the key that puts it there."""


@dataclass(frozen=True, slots=True)
class StockRow:
    """A stock in the answer: what is drawn and left [L], None where nothing is drawn.

    `state` is what the draw leaves, or what keeps the stock from the brief; `left_out` why it cannot be drawn at all.
    """

    tag: str
    litres: float | None
    left: float | None
    rule: str
    score: VesselScore | None
    left_out: str = ""
    state: str = ""


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
    near: Mapping[str, Near],
) -> list[StockRow]:
    """List the draws in the order to pull them, then the other stocks, those nearest to the limits first.

    Last come those that the brief forbids, or that cannot be judged, each with the reason.
    """
    draws = plan_of(answer)
    why = {out.stock: out.why for out in answer.left_out} if answer else {}
    drawn = {draw.stock for draw in draws}
    rows = [
        StockRow(
            draw.stock,
            draw.litres,
            draw.left_l,
            rules.get(draw.stock, ""),
            scores.get(draw.stock),
            state=_left_words(draw, cellar),
        )
        for draw in draws
    ]
    others = [
        StockRow(
            tag,
            None,
            cellar[tag].litres,
            rules.get(tag, ""),
            scores.get(tag),
            why.get(tag, "") or _unknown(near.get(tag)),
            near[tag].words if tag in near else "",
        )
        for tag in stocks
        if tag not in drawn and tag in cellar
    ]
    return rows + sorted(others, key=lambda row: _helps(row, near.get(row.tag)))


def _unknown(near: Near | None) -> str:
    return near.words if near is not None and not near.is_known else ""


def _helps(row: StockRow, near: Near | None) -> tuple[bool, bool, float]:
    """Order stocks that are not drawn: by how near they are; the forbidden, then those left out, come last."""
    return bool(row.left_out), row.rule == "never", near.miss if near is not None and near.is_known else 0.0


def _left_words(draw: Draw, cellar: Cellar) -> str:
    """Return what a draw leaves of its stock."""
    if draw.left_l is None or draw.stock not in cellar or not cellar[draw.stock].vessel.is_barrel:
        return ""
    return "part full" if draw.left_l > DRAINED_L else "drained"


def stocks_head(width: int) -> str:
    """Return the head of the list at this width."""
    score = _SCORE.format("score") if width >= _WIDE else " "
    return f"{_STOCK.format('', 'stock', 'draw', 'left')}{score}state"


def stock_line(row: StockRow, units: Units, width: int) -> str:
    """Return a stock in one line of this width."""
    draw = "-" if row.litres is None else show_figure("litres", row.litres, units)
    left = "unlimited" if row.left is None else show_figure("litres", row.left, units)
    score = _SCORE.format(_mean(row, units)) if width >= _WIDE else " "
    return f"{_STOCK.format(_MARKS.get(row.rule, ''), row.tag, draw, left)}{score}{_state(row, units, width)}"


def _mean(row: StockRow, units: Units) -> str:
    known = None if row.score is None else row.score.of_100
    return "-" if known is None else show_figure("score", known, units)


def _state(row: StockRow, units: Units, width: int) -> str:
    if row.left_out:
        return row.left_out
    if row.rule == "never":
        return "never drawn"
    tasted = "; ".join(row.score.words) if row.score and width >= _WIDE else ""
    return "; ".join(words for words in (in_units(row.state, units), tasted) if words)


def stock_words(row: StockRow, units: Units) -> str:
    """Return why a stock was left out, how far it lies from the brief, or how it was scored last."""
    if row.left_out:
        return f"{row.tag} is left out: {row.left_out}."
    away = f"{row.tag} on its own: {in_units(row.state, units)}. " if row.litres is None and row.state else ""
    return f"{away}{_score_words(row, units)}"


def _score_words(row: StockRow, units: Units) -> str:
    if row.score is None:
        return f"{row.tag} has not been scored."
    given = row.score
    words = f": {'; '.join(given.words)}" if given.words else ""
    when = f"by {given.tasters} on {show_day(given.at)}{words}"
    if given.mean is None or given.of_100 is None:
        return f"{row.tag} was scored {when}; no glass links all the tasters of {given.flight}, so it has no score."
    mean = show(Quantity.NUMBER, given.mean, units, digits=1)
    return f"{row.tag} scored {mean} on {given.scale}, {show_figure('score', given.of_100, units)} of 100, {when}."
