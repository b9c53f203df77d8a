"""Risks of which nothing can be calculated, only read: dissolved CO2, clarity, and haze in a heat test."""

from collections.abc import Sequence
from dataclasses import dataclass

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.ageing.aged import AgedCellar
from cooperage.programme.bottling_risks.mixed import mixed_figure
from cooperage.programme.bottling_risks.risk import Risk, RiskState
from cooperage.programme.rules.figure import RuleFigure
from cooperage.units import DEFAULT, Units, show

CLEAR_NTU, STABLE_NTU = 2.0, 2.0
"""Turbidity up to which mead looks clear, and by which it may rise in a heat test (common practice, no source)."""
_FRESH_DAYS, _LIKELY = 14, 0.1  # as for the other figures of a bottling


@dataclass(frozen=True, slots=True)
class OnlyRead:
    """A figure that is only read: how the risk is called, its property, its usual most, and what there is to do."""

    name: str
    property: str
    most: float | None
    over: str
    settled_by: str
    too_much: str


CO2 = OnlyRead(
    "CO2",
    "co2_g_l",
    None,
    "more than still wine may have; it foams, and makes pressure",
    "measure, or degas and look",
    "degas it, or bottle it as sparkling in bottles made for that",
)
CLARITY = OnlyRead(
    "clarity",
    "turbidity_ntu",
    CLEAR_NTU,
    "cloudy",
    "look against a lamp, or measure the turbidity",
    "let it clear, fine or filter it",
)
HAZE = OnlyRead(
    "haze when warm",
    "heat_haze_ntu",
    STABLE_NTU,
    "it may turn hazy when warm",
    "a heat test, where honey protein is left",
    "fine it with bentonite, and test again",
)


def read_risk(
    cellar: AgedCellar,
    standings: Sequence[Standing],
    of: OnlyRead,
    law: RuleFigure | None = None,
    units: Units = DEFAULT,
) -> Risk:
    """Return the risk of a figure of the mix; due where it was not read since the mead was put together.

    `law` is the most that the rules allow, where they do; otherwise the usual most counts.
    """
    quantity = PROPERTIES[of.property].quantity
    now = mixed_figure(cellar, standings, of.property)
    known = law if law is not None and law.is_known else None
    most = of.most if known is None else float(known.number)
    limit = "" if most is None else f"at most {show(quantity, most, units)}"
    chance = None if most is None else now.chance(most, 1)
    reads = [each.state.reads.get(of.property) for each in standings]
    state, why, settled = RiskState.FINE, "measured", ""
    if now.value is None:
        state, why, settled = RiskState.DUE, "not measured", of.settled_by
    elif most is not None and now.value > most:
        state, why, settled = RiskState.TROUBLE, of.over, of.too_much
    elif any(read is None or read.changed for read in reads):
        state, why, settled = RiskState.DUE, "something was added to it since it was measured", of.settled_by
    elif (now.age_days or 0) > _FRESH_DAYS:
        state, why, settled = RiskState.DUE, f"measured {now.age_days} days ago", of.settled_by
    elif (chance or 0.0) >= _LIKELY:
        state, why, settled = RiskState.DUE, "it may be over the limit", "measure it again"
    source = "" if law is None else law.citation
    return Risk(of.name, state, why, settled, quantity, now.value, *now.band, now.age_days, limit, chance, source)
