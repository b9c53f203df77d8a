"""How good the cellar's figures are, kind by kind: the scores of every figure and of levels, and what is set aside."""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import datetime
from typing import Any

from cooperage.book import Book
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.ageing.aged import AgedCellar, cellar_now
from cooperage.programme.ageing.scoring.levels_scored import LEVEL, level_outcomes
from cooperage.programme.ageing.scoring.scored import ForecastOutcome, outcomes
from cooperage.programme.ageing.scoring.scores import PROBABILITIES, ForecastScore, scores
from cooperage.programme.kept import kept
from cooperage.units import DEFAULT, Quantity, Units, show, show_spread

OF_LEVELS = "its own visits and those of barrels like it"
NOTHING_SCORED = "No figure has been measured twice yet: there is nothing to score."
HOW_SCORED = (
    "Each was forecast from what was known before it. Off by: the mean error; bias: how much too high; in 50 %: how\n"
    "many came within the band that should hold half of them; score (CRPS): lower is nearer and surer. A level is\n"
    "held against what the barrel lost last time."
)


@dataclass(frozen=True, slots=True)
class ScoreLine:
    """The score of one kind of figure, what the figures shown of it now rest on, and whether ageing it is set aside.

    Set aside means that figures as last read came nearer in this cellar, so that those are shown.
    """

    score: ForecastScore
    basis: str
    is_set_aside: bool

    @property
    def label(self) -> str:
        """What the figure is called."""
        return LEVEL if self.score.name == LEVEL else PROPERTIES[self.score.name].label

    @property
    def quantity(self) -> Quantity:
        """What it measures; levels are in ml."""
        return Quantity.VOLUME if self.score.name == LEVEL else PROPERTIES[self.score.name].quantity


def scoreboard(book: Book, tags: Sequence[str] = ()) -> list[ScoreLine]:
    """Score every forecast that a reading or a visit could be held against, of the vessels named or of all.

    Takes seconds, the first time after the book has changed: it is replayed. Raises NoSuchVessel.
    """
    cellar = cellar_now(book)
    wanted = {cellar[tag].tag for tag in tags}
    every = kept(cellar.mark, "outcomes", lambda: [*outcomes(book), *level_outcomes(book)], _as_json, _from_json)
    found = scores(each for each in every if not wanted or each.vessel in wanted)
    return [_line(score, cellar) for score in found]


def _as_json(every: list[ForecastOutcome]) -> list[list[Any]]:
    rows = map(astuple, every)
    return [[name, tag, at.isoformat(), *figures] for name, tag, at, *figures in rows]


def _from_json(rows: list[list[Any]]) -> list[ForecastOutcome]:
    return [ForecastOutcome(name, tag, datetime.fromisoformat(at), *figures) for name, tag, at, *figures in rows]


def _line(score: ForecastScore, cellar: AgedCellar) -> ScoreLine:
    if score.name == LEVEL:
        return ScoreLine(score, OF_LEVELS, is_set_aside=False)
    experience = cellar.experience(score.name)
    return ScoreLine(score, experience.basis, experience.is_set_aside)


SCORE_HEAD = (
    "figure",
    "count",
    "off by",
    "bias",
    *(f"in {100 * p:g} %" for p in PROBABILITIES),
    "score",
    "last read",
    "its bias",
)
_MORE_DIGITS = {"free_so2_mg_l": 1, "total_so2_mg_l": 1, "ph": 3, "va_g_l": 3, "abv": 2, "ta_g_l": 3, LEVEL: 2}
"""Means are finer than readings."""


def score_cells(line: ScoreLine, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a score in the columns of `SCORE_HEAD`; the last two are those of the figure as last read."""
    score = line.score
    errors = (score.error, score.bias, score.crps, score.last_error, score.last_bias)
    off_by, bias, crps, *last = (_shown(line, value, units) for value in errors)
    held = (f"{100 * share:.0f} %" for share in score.held)
    return (line.label, str(score.count), off_by, bias, *held, crps, *last)


def verdict(line: ScoreLine) -> str:
    """Return whether ageing it came nearer than what stood before, and what is shown of it now."""
    before = "what it lost last time" if line.score.name == LEVEL else "the figure as last read"
    nearer = "nearer than" if line.score.is_better else "no nearer than"
    return f"{line.label}: came {nearer} {before}; shown now: {line.basis or 'no vessel has one'}"


def _shown(line: ScoreLine, value: float, units: Units) -> str:
    """Return an error in the person's unit; of a scale whose zero is not nothing it is a difference."""
    if (middling := _MIDDLING.get(line.quantity)) is not None:
        sign = "-" if value < 0 else ""
        return sign + show_spread(line.quantity, abs(value), middling, units, like=line.score.error)
    given = round(value) if line.quantity is Quantity.VOLUME else value
    return show(line.quantity, given, units, digits=_MORE_DIGITS.get(line.score.name))


_MIDDLING = {Quantity.GRAVITY: 1.02, Quantity.TEMPERATURE: 12.0}
"""Where a difference is put into another unit of such a scale (common practice, no source)."""
