"""Readings and what they are worth, and scores, in columns: figures under one another on the point, units beside."""

from rich.text import Text
from textual.app import App

from cooperage.programme.ageing.scoring.scoreboard import ScoreLine, score_cells, verdict
from cooperage.programme.rounds.worth import ReadingWorth, worth_cells
from cooperage.tui.shared.ink import ink
from cooperage.units import Units

_LABEL = 18
_WORTH = f"{{:<7}} {{:<{_LABEL}}} {{:<9}} {{:>6}}  {{:<15}}  {{:>9}}"
_WORTH_NARROW = f"{{:<7}} {{:<{_LABEL}}} {{:<9}} {{:>6}}  {{:>9}}"
_COLUMNS = ("vessel", "measure", "decides", "likely", "once measured", "spares")
_NARROW = 76
"""Columns below which a line has only what matters most."""
_ROOMY = 110
"""Columns from which the bias of the last reading and the score stand beside."""
_WHOLE, _DECIMALS = 4, 7
"""Columns before the point of an error and after it, the point included, that hold every ordinary one."""
_UNIT, _COUNT, _SHARE = 5, 5, 4


def worth_head(width: int) -> str:
    """Return the names of the columns of `worth_text`."""
    if width < _NARROW:
        return _WORTH_NARROW.format(*_COLUMNS[:4], _COLUMNS[-1])
    return _WORTH.format(*_COLUMNS)


def worth_text(worth: ReadingWorth, app: App[object], width: int, units: Units) -> Text:
    """Return a reading and what it would decide: how likely now, between what it will be then, what it spares."""
    vessel, measure, decides, _, likely, spares = worth_cells(worth, units)
    now, _, then = likely.partition(", then ")
    text = Text(no_wrap=True).append(f"{vessel:<7} {measure:<{_LABEL}} ", ink(app, "ink"))
    text.append(f"{decides:<9} ", ink(app, "quiet"))
    text.append(f"{now:>6}  ", ink(app, "ink"))
    if width >= _NARROW:
        text.append(f"{then:<15}  ", ink(app, "quiet"))
    return text.append(f"{spares:>9}", ink(app, "ink"))


def question_words(worth: ReadingWorth) -> str:
    """Return the question that a reading would decide."""
    return f"{worth.vessel}, {worth.decides}: is {worth.what}?"


def score_head(width: int) -> str:
    """Return the head of the scores, with as many columns as `score_text` has."""
    error = _WHOLE + _DECIMALS
    cells = [f"{'figure':<{_LABEL}} {'':<{_UNIT}} {'count':>{_COUNT}}", f"{'off by':^{error}}"]
    cells += [f"{'bias':^{error}}"] if width >= _NARROW else []
    shares = ("50 %", "80 %", "95 %") if width >= _NARROW else ("95 %",)
    cells += ["".join(f"{share:>{_SHARE + 1}}" for share in shares)]
    cells += [f"{'last read':^{error}}"]
    cells += [f"{'its bias':^{error}}", f"{'score':^{error}}"] if width >= _ROOMY else []
    return "".join(cells).rstrip()


def score_text(line: ScoreLine, app: App[object], width: int, units: Units) -> Text:
    """Return a score; where there is room, also the bias of the figure as last read, and the proper score."""
    label, count, off_by, bias, *held, crps, last, last_bias = score_cells(line, units)
    unit = off_by.partition(" ")[2]
    text = Text(no_wrap=True).append(f"{label:<{_LABEL}} ", ink(app, "ink"))
    text.append(f"{unit:<{_UNIT}} {count:>{_COUNT}}", ink(app, "quiet"))
    text.append(_on_point(off_by, units), ink(app, "ink", bold=True))
    if width >= _NARROW:
        text.append(_on_point(bias, units), ink(app, "ink"))
    for share in held if width >= _NARROW else held[-1:]:
        text.append(f"{share.removesuffix(' %'):>{_SHARE - 1}}  ", ink(app, "ink"))
    text.append(_on_point(last, units), ink(app, "quiet"))
    if width >= _ROOMY:
        text.append(_on_point(last_bias, units) + _on_point(crps, units), ink(app, "quiet"))
    text.rstrip()
    return text


def _on_point(shown: str, units: Units) -> str:
    """Return the number of a figure with a unit, its point in the same column whatever its digits."""
    whole, _, decimals = shown.partition(" ")[0].partition(units.decimal)
    after = f"{units.decimal}{decimals}" if decimals else ""
    return f"{whole:>{_WHOLE}}{after:<{_DECIMALS}}"


def score_verdict(line: ScoreLine, width: int, units: Units) -> str:
    """Return what a score comes to, and what its line has no room for."""
    *_, crps, _, last_bias = score_cells(line, units)
    return verdict(line) + ("" if width >= _ROOMY else f"; bias as last read {last_bias}, score {crps}")
