"""A trial is planned: its blends in millilitres, and what its scores will be able to show."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from cooperage.blending.mixture.exchange import Integers
from cooperage.blending.mixture.region import Region
from cooperage.blending.pour.bench_sheet import NotAPipette, nearest_counts
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.design import (
    MOST_A_SESSION,
    MOST_GLASSES,
    DesignDoesNotFit,
    design_points,
    sessions_of,
    usual_design,
)
from cooperage.blending.trials.kept import check_trial, find_trial, insert_trial, next_code
from cooperage.blending.trials.precision import USUAL_TASTERS, TrialPlan, with_precision
from cooperage.blending.trials.region import region_of
from cooperage.blending.trials.stocks import GivenStock, find_stocks, parse_limits, parse_stock
from cooperage.blending.trials.trial import DEGREES, Trial, TrialGlass
from cooperage.book import Book, Cellar
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.tasting.flights import flights
from cooperage.tasting.flights.scales import scale_named
from cooperage.tasting.kept import check_taster
from cooperage.units import DEFAULT, Quantity, Units, read

_HAIR = 1e-6
TASTED_ML = 30.0
"""What a taster is poured of one blend [mL] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class TrialAsked:
    """What a trial is to be: its stocks, limits as in a brief, and how it is designed and poured.

    `design` "" is the simplest that fits; `blends` None as many as it has; `sessions` None as many as no taster tires
    in; `glass_ml` 0 enough for all.
    """

    stocks: Sequence[GivenStock]
    question: str = ""
    limits: dict[str, Any] = field(default_factory=dict)
    design: str = ""
    degree: int = 2
    blends: int | None = None
    repeats: int = 1
    sessions: int | None = None
    glass_ml: float = 0.0
    step_ml: float = 1.0
    scale: str = "0-20"
    tasters: Sequence[str] = ()


def plan_trial(book: Book, cellar: Cellar, asked: TrialAsked, units: Units = DEFAULT) -> TrialPlan:
    """Plan a trial without keeping it. Raises what its parts do."""
    check_counts(asked)
    scale = scale_named(asked.scale)
    tasters = tuple(dict.fromkeys(name.strip() for name in asked.tasters))
    for name in tasters:
        check_taster(name)
    stocks = find_stocks(cellar, asked.stocks, asked.limits)
    region = region_of(stocks, asked.limits, units)
    design = asked.design or usual_design(region, asked.blends)
    points = design_points(design, region, asked.degree, asked.blends)
    count = len(points) * asked.repeats
    if count > MOST_GLASSES:
        raise DesignDoesNotFit(f"this takes {count} glasses, more than {MOST_GLASSES}; name fewer stocks or repeats")
    glass_ml = asked.glass_ml or TASTED_ML * max(len(tasters), USUAL_TASTERS if not tasters else 1)
    poured = np.tile(points, (asked.repeats, 1))
    sessions = math.ceil(count / MOST_A_SESSION) if asked.sessions is None else asked.sessions
    numbers = sessions_of(poured, asked.degree, sessions)
    glasses = _glasses(poured, numbers, glass_ml, asked.step_ml, region)
    with book.reading() as connection:
        code = next_code(connection)
    trial = Trial(
        "", code, asked.question.strip(), stocks, asked.limits, design, asked.degree, glasses, asked.step_ml, scale,
        tasters, "", book.now(),
    )  # fmt: skip
    check_trial(trial)
    return with_precision(trial, region, flights(book))


def check_counts(asked: TrialAsked) -> None:
    """Refuse numbers that no trial has; raises BadInput."""
    if asked.degree not in DEGREES:
        raise BadInput(f"the degree is 1, 2 or 3, not {asked.degree}: {', '.join(DEGREES.values())}")
    if not 1 <= asked.repeats <= MOST_GLASSES:
        raise BadInput(f"repeats must be from 1 to {MOST_GLASSES}, not {asked.repeats}")


def _glasses(
    points: Floats, sessions: Sequence[int], glass_ml: float, step: float, region: Region
) -> tuple[TrialGlass, ...]:
    """Round each blend to the pipette's step, inside the bounds of single stocks; raises NotAPipette."""
    steps = glass_ml / step if step > 0 and math.isfinite(step) else 0.0
    if not math.isfinite(glass_ml) or steps < 1 or abs(steps - round(steps)) > 1e-6:
        raise NotAPipette(glass_ml, step)
    made = []
    for number, (point, session) in enumerate(zip(points, sessions, strict=True), 1):
        counts = _counts_within(point, round(steps), region)
        planned = tuple(round(float(share), 12) for share in point)
        made.append(TrialGlass(number, session, planned, tuple(round(float(each) * step, 6) for each in counts)))
    return tuple(made)


def _counts_within(point: Floats, steps: int, region: Region) -> Integers:
    """Return the steps of each stock: as many as its bound asks for, and the rest as near the blend as they come.

    Where steps are too coarse for the bounds of all stocks together, as near the blend as they come.
    """
    least = np.ceil(region.lower * steps - _HAIR).astype(np.int64)
    room = np.floor(region.upper * steps + _HAIR).astype(np.int64) - least
    free = steps - int(least.sum())
    if free < 0 or (room < 0).any() or room.sum() < free:
        return nearest_counts(point, steps)
    if free == 0:
        return least
    above = np.maximum(point * steps - least, 0.0)
    return least + nearest_counts(above / above.sum(), free, room.astype(np.float64))


def keep_trial(book: Book, plan: TrialPlan, *, hand: str = "") -> Trial:
    """Keep a planned trial; raises AlreadyThere, BadInput."""
    with book.writing() as session:
        made = replace(plan.trial, id=session.new_id(), hand=hand, written_at=session.now)
        insert_trial(session, made)
        return find_trial(session.connection, made.code)


def typed_trial(texts: Mapping[str, str], units: Units = DEFAULT) -> TrialAsked:
    """Read the texts of a form's fields: question, stocks, limits, tasters, repeats; raises BadField naming one."""
    asked: dict[str, Any] = {"question": texts.get("question", "")}
    asked["tasters"] = _parts(texts.get("tasters", ""))
    with _at("stocks", units):
        asked["stocks"] = [parse_stock(each, units) for each in _parts(texts.get("stocks", ""))]
    with _at("limits", units):
        asked["limits"] = parse_limits(_parts(texts.get("limits", "")), units)
    with _at("repeats", units):
        asked["repeats"] = int(read(Quantity.COUNT, texts.get("repeats", "").strip() or "1", units))
    return TrialAsked(**asked)


@contextmanager
def _at(field: str, units: Units) -> Iterator[None]:
    """Give what is wrong with a text the name of its field."""
    try:
        yield
    except BadInput as error:
        raise BadField(field, error.words(units)) from error


def _parts(text: str) -> list[str]:
    return [part for each in re.split(r"[;\n]|,\s", text) if (part := each.strip().rstrip(","))]
