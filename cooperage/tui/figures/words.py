"""Readings and what they are worth, and scores, in a line each."""

from cooperage.programme.ageing.scoring.scoreboard import ScoreLine, score_cells, verdict
from cooperage.programme.rounds.worth import ReadingWorth, worth_cells
from cooperage.units import Units

_WORTH = "{:<7} {:<18} {:<10} {:<22} {:>9}"
WORTH_LINE_HEAD = _WORTH.format("vessel", "measure", "decides", "likely", "spares")

_SCORE = "{:<18} {:>5} {:>11} {:>12} {:>4} {:>4} {:>4} {:>11}"
_WIDE = "  {:>12} {:>12}"
_HEAD = _SCORE.format("figure", "count", "off by", "bias", "50 %", "80 %", "95 %", "last read")
_MORE_HEAD = _WIDE.format("its bias", "score")


def worth_line(worth: ReadingWorth, units: Units) -> str:
    """Return a reading and what it would decide."""
    vessel, measure, decides, _, likely, spares = worth_cells(worth, units)
    return _WORTH.format(vessel, measure, decides, likely, spares)


def question_words(worth: ReadingWorth) -> str:
    """Return the question that a reading would decide."""
    return f"{worth.vessel}, {worth.decides}: is {worth.what}?"


def score_head(width: int) -> str:
    """Return the head of the scores, with as many columns as `score_line` has."""
    return _HEAD + _MORE_HEAD if _has_room(width) else _HEAD


def score_line(line: ScoreLine, width: int, units: Units) -> str:
    """Return a score; where there is room, also the bias of the figure as last read, and the proper score."""
    label, count, off_by, bias, *held, crps, last, last_bias = score_cells(line, units)
    text = _SCORE.format(label, count, off_by, bias, *(share.removesuffix(" %") for share in held), last)
    return text + _WIDE.format(last_bias, crps) if _has_room(width) else text


def score_verdict(line: ScoreLine, width: int, units: Units) -> str:
    """Return what a score comes to, and what its line has no room for."""
    *_, crps, _, last_bias = score_cells(line, units)
    return verdict(line) + ("" if _has_room(width) else f"; bias as last read {last_bias}, score {crps}")


def _has_room(width: int) -> bool:
    return width >= len(_HEAD + _MORE_HEAD)
