"""The stocks of a blend in lines, each draw as a bar; the words of the answer are in `cooperage.blending.answer`."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from rich.style import Style
from rich.text import Text

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.blending.brief.figures import show_figure, unit_words
from cooperage.blending.brief.quantities import in_units
from cooperage.blending.stocks.near import Near
from cooperage.blending.stocks.part_full import rest_words
from cooperage.book import Cellar, Standing
from cooperage.book.vessel_words import IN_QUARANTINE
from cooperage.tasting.vessels import VesselScore
from cooperage.tui.shared.gauges import lying_bar, whole_phrases
from cooperage.tui.shared.ink import DUE, TROUBLE
from cooperage.units import Quantity, Units, show, show_date

Inks = Callable[[str], Style]
"""The style of a role in the theme in use."""

_STOCK = "{:<2}{:<7} {:>8} {:>8}  "
_SCORE = "{:>5}  "
_WIDE, _BARRED, _LONGEST = 84, 52, 28
"""From so many columns on a stock's score stands in its line, a draw has a bar; and a bar has at most so many."""
_STATE_ROOM = 11
_MARKS = {"must": "+", "never": "-"}
"""A stock under a rule is marked by the key that puts it there."""
_LEFT_BEHIND = ("part full", "heel")


@dataclass(frozen=True, slots=True)
class StockRow:
    """A stock in the answer: what is drawn and left [L], None where nothing is drawn.

    `state` is what the draw leaves, or what keeps the stock from the brief; `left_out` why it cannot be drawn at all.
    `most` is what the fullest stock that is drawn on held, the measure of all bars.
    """

    tag: str
    litres: float | None
    left: float | None
    rule: str
    score: VesselScore | None
    left_out: str = ""
    state: str = ""
    most: float = 0.0


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
    most = max((draw.litres + (draw.left_l or 0.0) for draw in draws if _is_barrel(draw, cellar)), default=0.0)
    most = max(most, max((draw.litres for draw in draws), default=0.0))
    rows = [
        StockRow(
            draw.stock,
            draw.litres,
            draw.left_l,
            rules.get(draw.stock, ""),
            scores.get(draw.stock),
            state=_left_words(draw, cellar),
            most=most,
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
            _barred(cellar[tag]) or why.get(tag, "") or _unknown(near.get(tag)),
            near[tag].words if tag in near else "",
        )
        for tag in stocks
        if tag not in drawn and tag in cellar
    ]
    return rows + sorted(others, key=lambda row: _helps(row, near.get(row.tag)))


def _barred(standing: Standing) -> str:
    """Return why nothing is drawn of a vessel whatever the brief; empty where nothing keeps it from that."""
    return IN_QUARANTINE if standing.is_quarantined else ""


def _unknown(near: Near | None) -> str:
    return near.words if near is not None and not near.is_known else ""


def _helps(row: StockRow, near: Near | None) -> tuple[bool, bool, float]:
    """Order stocks that are not drawn: by how near they are; the forbidden, then those left out, come last."""
    return bool(row.left_out), row.rule == "never", near.miss if near is not None and near.is_known else 0.0


def _is_barrel(draw: Draw, cellar: Cellar) -> bool:
    return draw.stock in cellar and cellar[draw.stock].vessel.is_barrel


def _left_words(draw: Draw, cellar: Cellar) -> str:
    """Return what a draw leaves of a barrel; a tank is not named by it."""
    return rest_words(draw.litres, draw.left_l) if draw.left_l is not None and _is_barrel(draw, cellar) else ""


def stocks_head(units: Units, width: int) -> str:
    """Return the head of the list at this width."""
    unit = unit_words("litres", units)
    score = _SCORE.format("score") if width >= _WIDE else ""
    return f"{_STOCK.format('', 'from', f'draw, {unit}', f'left, {unit}')}{score}{' ' * _bar_room(width)}"


def _bar_room(width: int) -> int:
    """Return how many columns bars have at this width, none where they find no room."""
    if width < _BARRED:
        return 0
    taken = len(_STOCK.format("", "", "", "")) + (len(_SCORE.format("")) if width >= _WIDE else 0)
    return min(_LONGEST, width - taken - _STATE_ROOM - 1)


def stock_line(row: StockRow, units: Units, width: int, inks: Inks) -> Text:
    """Return a stock in one line of this width; what is drawn of it as a bar."""
    draw = "–" if row.litres is None else show_figure("litres", row.litres, units, with_unit=False)
    left = "unlimited" if row.left is None else show_figure("litres", row.left, units, with_unit=False)
    is_left = row.state in _LEFT_BEHIND and row.litres is not None
    is_barred = row.left_out == IN_QUARANTINE
    mark = TROUBLE if is_barred else _MARKS.get(row.rule, "") or (DUE if is_left else "")
    text = Text(no_wrap=True)
    quiet = "" if row.litres is not None else inks("quiet")
    text.append(_STOCK.format(mark, row.tag, draw, left), quiet)
    if is_barred or (is_left and mark == DUE):
        text.stylize(inks("ember" if is_barred else "honey"), 0, 1)
    if width >= _WIDE:
        text.append(_SCORE.format(_mean(row, units)), quiet)
    if row.litres is None:
        return text.append(whole_phrases(_why_not(row, units), width - text.cell_len), quiet)
    _append_bar(text, row, _bar_room(width), inks)
    return text.append(row.state, inks("honey" if is_left else "quiet"))


def _append_bar(text: Text, row: StockRow, room: int, inks: Inks) -> None:
    if not room or row.litres is None:
        return
    rest = min(row.left or 0.0, max(0.0, row.most - row.litres))  # a tank may hold more than any bar is long
    taken, stays = lying_bar(row.litres, rest, row.most, room)
    text.append(taken, inks("mead")).append(stays, inks("mist"))
    text.append(" " * (room + 1 - len(taken) - len(stays)))


def _mean(row: StockRow, units: Units) -> str:
    known = None if row.score is None else row.score.of_100
    return "–" if known is None else show_figure("score", known, units)


def _why_not(row: StockRow, units: Units) -> str:
    if row.left_out:
        return row.left_out
    if row.rule == "never":
        return "never drawn"
    tasted = ", ".join(row.score.words) if row.score else ""
    return ", ".join(words for words in (in_units(row.state, units), tasted) if words)


def stock_words(row: StockRow, units: Units, width: int, now: datetime) -> str:
    """Return why a stock was left out, how far it lies from the brief, or how it was scored last.

    Of the tasters' words as many are shown as the width has room for.
    """
    if row.left_out:
        return f"{row.tag} is left out: {row.left_out}."
    away = f"{row.tag} on its own: {in_units(row.state, units)}. " if row.litres is None and row.state else ""
    said = list(dict.fromkeys(row.score.words)) if row.score else []
    while len(words := f"{away}{_score_words(row, said, units, now)}") > width and said:
        said.pop()
    return words


def _score_words(row: StockRow, said: Sequence[str], units: Units, now: datetime) -> str:
    if row.score is None:
        return f"{row.tag} has not been scored."
    given = row.score
    words = f": {'; '.join(said)}" if said else ""
    when = f"by {given.tasters} on {show_date(given.at, now).strip()}{words}"
    if given.mean is None or given.of_100 is None:
        return f"{row.tag} was scored {when}; no glass links all the tasters of {given.flight}, so it has no score."
    mean = show(Quantity.NUMBER, given.mean, units, digits=1)
    return f"{row.tag} scored {mean} on {given.scale}, {show_figure('score', given.of_100, units)} of 100, {when}."
