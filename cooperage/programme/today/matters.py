"""What is wrong as rows: one for a vessel and a cause, many alike in one; the worst first."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cooperage.book import Cellar
from cooperage.book.dangers.dangers import Caution
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.signs.looks import found_wrong
from cooperage.programme.signs.sign import ODD_LOSS, Sign, SignState
from cooperage.programme.signs.waiting import worst_first
from cooperage.programme.today.kinds import Case, Figured, wording_of
from cooperage.units import DEFAULT, Units

_SMELLS_OF_ACIDITY = ("vinegar", "solvent")
_CAUSES = {ODD_LOSS: "leak", "dip": "leak", "sulphite loss": "sulphite"}
"""Kinds that come of what another shows too."""
_FEWEST_ALIKE, _FEWEST_IN_TROUBLE = 2, 4
_ON_THE_WALK = ("sulphite", "empty")
"""Kinds that the walk deals with, one stop after the other: many of them are one row even when each is trouble."""

_OF_MANY = {"SO2 near": "SO2 near its floor", "class line": "near a class line", "stronger": "stronger than its lots"}
"""The word of a row of several, where that is another."""


@dataclass(frozen=True, slots=True)
class Matter:
    """One row of what is wrong: a vessel and a cause, or several vessels with the same, the worst of them first.

    `reason` is in clauses, the weightiest first. `figure` is the vessel's; of several the least, and `figure_to` the
    most. `sure` are the least and the most that any is sure [0 to 1]; None where it was seen, or is no matter of
    chance. `kinds` are those of the signs it is made of, the one that the row shows first. `is_on_walk`: the day's walk
    stops there for it. `orders` are the numbers of the orders that are for it.
    """

    state: SignState
    kinds: tuple[str, ...]
    word: str
    vessels: tuple[str, ...]
    figure: Figured | None
    reason: tuple[str, ...]
    why: tuple[str, ...]
    do: str
    sure: tuple[float, float] | None
    waiting_costs_l: float
    cautions: tuple[Caution, ...]
    figure_to: Figured | None = None
    is_on_walk: bool = False
    orders: tuple[int, ...] = ()

    @property
    def kind(self) -> str:
        """The kind of the sign that the row shows."""
        return self.kinds[0]


def matters_of(
    found: Iterable[Sign], cellar: Cellar, rates: Mapping[str, LossRate], units: Units = DEFAULT
) -> list[Matter]:
    """Make rows of signs: what has one cause at a vessel is one row, many alike are one; the worst first."""
    caused: dict[tuple[str, str], list[Sign]] = defaultdict(list)
    for sign in worst_first(found):
        caused[sign.vessel, _cause(sign, cellar)].append(sign)
    alike: dict[tuple[SignState, str], list[Matter]] = defaultdict(list)
    for (tag, _), signs in caused.items():
        row = _row(signs, cellar, rates.get(tag), units)
        alike[row.state, row.kind].append(row)
    rows = [row for rows in alike.values() for row in _together(rows)]
    states = tuple(SignState)
    return sorted(rows, key=lambda row: (states.index(row.state), -row.waiting_costs_l))


def _cause(sign: Sign, cellar: Cellar) -> str:
    """Return what a sign comes of: a smell of vinegar is the acidity that was measured, a short dip may be the leak."""
    if sign.kind == "smell":
        words, _ = found_wrong(cellar[sign.vessel]).get("smell", ("", None))
        return "va" if any(word in words for word in _SMELLS_OF_ACIDITY) else "smell"
    return _CAUSES.get(sign.kind, sign.kind)


def _row(signs: Sequence[Sign], cellar: Cellar, rate: LossRate | None, units: Units) -> Matter:
    """Make one row of the signs of one cause at one vessel; what was measured goes before what was smelled.

    Of what was measured the costliest is shown, and the others by their word.
    """
    first = min(signs, key=lambda sign: sign.kind == "smell")
    case, wording = Case(first, cellar[first.vessel], rate, units), wording_of(first.kind)
    others = [sign for sign in signs if sign is not first and sign.kind != "smell"]
    return Matter(
        state=signs[0].state,
        kinds=tuple(sign.kind for sign in (first, *(sign for sign in signs if sign is not first))),
        word=first.word,
        vessels=(first.vessel,),
        figure=wording.figure(case),
        reason=(*wording.reason(case), *(other.word for other in others)),
        why=tuple(sign.why for sign in signs),
        do=wording.do(case),
        sure=None if first.sure is None else (first.sure, first.sure),
        waiting_costs_l=max(sign.waiting_costs_l for sign in signs),
        cautions=tuple(dict.fromkeys(caution for sign in signs for caution in sign.cautions)),
        is_on_walk=first.kind in _ON_THE_WALK,
    )


def _together(rows: list[Matter]) -> list[Matter]:
    """Put rows that are alike into one, if they are many."""
    first = rows[0]
    is_trouble = first.state is SignState.TROUBLE
    fewest = _FEWEST_IN_TROUBLE if is_trouble else _FEWEST_ALIKE
    if len(rows) < fewest or (is_trouble and first.kind not in _ON_THE_WALK):
        return rows
    chances = [row.sure for row in rows if row.sure is not None]
    figures = sorted((row.figure for row in rows if row.figure is not None), key=lambda figure: figure.amount)
    return [
        Matter(
            state=first.state,
            kinds=tuple(dict.fromkeys(kind for row in rows for kind in row.kinds)),
            word=_OF_MANY.get(first.word, first.word),
            vessels=tuple(tag for row in rows for tag in row.vessels),
            figure=figures[0] if figures else None,
            figure_to=figures[-1] if figures else None,
            reason=(*first.reason[:1], *(each for each in first.reason[1:] if all(each in row.reason for row in rows))),
            why=tuple(f"{row.vessels[0]}: {why}" for row in rows for why in row.why),
            do="The walk stops at each: measure there, then dose." if first.kind == "sulphite" else first.do,
            sure=(min(low for low, _ in chances), max(high for _, high in chances)) if chances else None,
            waiting_costs_l=sum(row.waiting_costs_l for row in rows),
            cautions=tuple(dict.fromkeys(caution for row in rows for caution in row.cautions)),
            is_on_walk=first.is_on_walk,
        )
    ]
