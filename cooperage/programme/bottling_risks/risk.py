"""One risk of a bottling, and the words for it."""

from dataclasses import dataclass
from enum import StrEnum
from textwrap import fill

from cooperage.units import DEFAULT, Quantity, Units, show

CAUTION = (
    "Sugar, living yeast and a closed bottle make pressure: glass can burst and cut. Stabilise it, filter it sterile, "
    "or do not close the bottle."
)
NO_PROMISE = "This list cannot call a bottling safe. Your practice and law decide."
_LITTLE, _TENTHS = 0.05, 10


class RiskState(StrEnum):
    """How a risk stands: `TROUBLE` is settled or passed with a reason before the first bottle."""

    TROUBLE = "trouble"
    DUE = "due"
    FINE = "fine"


@dataclass(frozen=True, slots=True)
class Risk:
    """One risk: its figure now in the quantity's unit, with band and age, its limit, and what would settle it.

    `chance` [1] is that the figure is really on the wrong side of its limit; None where that cannot be given. `source`
    is where a limit of law is from, with what to do with it.
    """

    name: str
    state: RiskState
    why: str
    settled_by: str = ""
    quantity: Quantity | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    age_days: int | None = None
    limit: str = ""
    chance: float | None = None
    source: str = ""

    def figure(self, units: Units = DEFAULT) -> str:
        """Return its figure as text; "?" where it is unknown, empty where it has none."""
        return "" if self.quantity is None else show(self.quantity, self.value, units, digits=_digits(self.name))

    def band(self, units: Units = DEFAULT) -> str:
        """Return its band as text; empty where there is none."""
        if self.quantity is None or self.low is None or self.high is None:
            return ""
        ends = (
            show(self.quantity, each, units, with_unit=False, digits=_digits(self.name))
            for each in (self.low, self.high)
        )
        return " to ".join(ends)

    @property
    def age(self) -> str:
        """How old its reading is; empty where there is none."""
        return "" if self.age_days is None else f"{self.age_days} d"

    @property
    def chance_words(self) -> str:
        """Its chance in tenths, which is as sure as it is; empty where there is none."""
        if self.chance is None:
            return ""
        if self.chance < _LITTLE:
            return "under 1 in 20"
        if self.chance > 1 - _LITTLE:
            return "nearly sure"
        return f"{max(1, round(self.chance * _TENTHS))} in 10"


def _digits(name: str) -> int | None:
    return 2 if name in ("strength", "molecular SO2") else None


COLUMNS = 78
"""How wide its lines are at most."""
_INDENT = " " * 27


def risk_lines(risk: Risk, units: Units = DEFAULT) -> list[str]:
    """Return a risk as lines of at most 78 columns: its state and figure, then why, then what would settle it."""
    head = f"{risk.state.value:<8} {risk.name:<17} "
    lines = fill(risk_words(risk, units), COLUMNS, initial_indent=head, subsequent_indent=_INDENT).splitlines()
    if risk.settled_by and risk.state is not RiskState.FINE:
        settles = fill(f"→ {risk.settled_by}", COLUMNS, initial_indent=_INDENT, subsequent_indent=f"{_INDENT}  ")
        lines += settles.splitlines()
    return lines


def risk_words(risk: Risk, units: Units) -> str:
    """Return figure, band, age, limit, chance and why as one line of text: "0.53 mg/L (0.42 to 0.63), at least 0.5"."""
    beside = ", ".join(filter(None, (risk.band(units), risk.age and f"{risk.age} old")))
    figure = " ".join(filter(None, (risk.figure(units), beside and f"({beside})")))
    chance = risk.chance_words and f"on the wrong side: {risk.chance_words}"
    return "; ".join(filter(None, (figure, risk.limit, chance, risk.why)))


def risk_row(risk: Risk) -> dict[str, object]:
    """Return a risk as a script reads it: figures in `unit`."""
    units = {
        Quantity.STRENGTH: "percent_vol",
        Quantity.SUGAR: "g_l",
        Quantity.ACID: "g_l",
        Quantity.SULPHITE: "mg_l",
        Quantity.GAS: "g_l",
        Quantity.TURBIDITY: "ntu",
        Quantity.TEMPERATURE: "celsius",
        Quantity.VOLUME: "ml",
    }
    return {
        "risk": risk.name,
        "state": risk.state.value,
        "value": risk.value,
        "low": risk.low,
        "high": risk.high,
        "unit": "" if risk.quantity is None else units[risk.quantity],
        "age_days": risk.age_days,
        "limit": risk.limit,
        "chance": risk.chance,
        "why": risk.why,
        "settled_by": risk.settled_by,
        "source": risk.source,
    }


def to_mind(found: "list[Risk]") -> list[str]:
    """Return the caution, where living yeast is a trouble, and what the list is not."""
    has_yeast = any(each.name == "living yeast" and each.state is RiskState.TROUBLE for each in found)
    return [CAUTION, NO_PROMISE] if has_yeast else [NO_PROMISE]


def in_words(found: "list[Risk]") -> list[str]:
    """Return the caution where yeast is a trouble, what the list is not, and what stands against opening the run."""
    troubles = [each.name for each in found if each.state is RiskState.TROUBLE]
    lines = to_mind(found)
    if troubles:
        stand = "1 trouble stands" if len(troubles) == 1 else f"{len(troubles)} troubles stand"
        lines.append(f"{stand}: {', '.join(troubles)}. Settle each, or pass it with a reason, which is kept.")
    return lines
