"""The columns of the files, each declared once: what it holds, and whether it must be there.

Those of `entries.csv` are the acts' own declarations; the others are declared here. A blank cell is unknown, which
is not zero.
"""

from collections.abc import Callable, Mapping
from dataclasses import Field, dataclass
from enum import StrEnum
from typing import Any

from cooperage.book import KINDS, Act
from cooperage.book.declared.acts import faces
from cooperage.book.declared.allowed import LONGEST_CODE
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.verdicts import VERDICTS, canonical_verdict
from cooperage.book.facts import FACTS
from cooperage.book.store.registry import KNOWN_HOW, PAST_KINDS, TOPPINGS, VESSEL_KINDS
from cooperage.programme.bottling.run import RUN_LINE_KINDS
from cooperage.tasting.difference.designs import ORDERS as TEST_ORDERS
from cooperage.tasting.difference.question import ALIKE, DIFFER, SAMPLES
from cooperage.tasting.flights.shape import CONTROL, REFERENCE
from cooperage.units import Quantity


class Plain(StrEnum):
    """What a column holds beside quantities and what acts hold."""

    WHEN = "date or time"
    DAY = "day"
    ID = "id"
    WORDS = "free text, kept to the letter"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in the file, the field it fills, what it holds and the most letters it takes."""

    name: str
    holds: Quantity | Holds | Plain
    field: str = ""
    required: bool = False
    choices: tuple[str, ...] = ()
    longest: int | None = None
    canonical: Callable[[str], str] | None = None

    @property
    def fills(self) -> str:
        """The field it fills: by default the column's own name."""
        return self.field or self.name


def _role(text: str) -> str:
    """Return the role of a glass as it is kept: a sample of a difference test is a capital letter."""
    return text.upper() if text.upper() in SAMPLES else text.lower()


_WORDS = ("note", "plan", "reason", "method")
_ID = Column("id", Plain.ID)
_NOTE = Column("note", Plain.WORDS)
_REGISTERED = (Column("registered_by", Holds.TEXT), Column("registered_at", Plain.WHEN))

VESSELS: tuple[Column, ...] = (
    Column("tag", Holds.TAG, required=True, longest=LONGEST_CODE),
    Column("kind", Holds.CHOICE, required=True, choices=VESSEL_KINDS),
    Column("capacity", Quantity.VOLUME, "capacity_ml", required=True),
    Column("capacity_how", Holds.CHOICE, choices=KNOWN_HOW),
    Column("room", Holds.TEXT),
    Column("row", Holds.TEXT),
    Column("bay", Holds.COUNT),
    Column("tier", Holds.COUNT),
    _NOTE,
    *_REGISTERED,
    _ID,
)
BARREL: tuple[Column, ...] = (
    Column("cooper", Holds.TEXT),
    Column("wood", Holds.TEXT),
    Column("forest", Holds.TEXT),
    Column("seasoning_months", Holds.COUNT),
    Column("toast_staves", Holds.TEXT),
    Column("toast_heads", Holds.TEXT),
    Column("char", Holds.COUNT),
    Column("year", Holds.COUNT),
    Column("acquired_on", Plain.WHEN),
    Column("cost", Quantity.MONEY),
    Column("past_life", Holds.TEXT),
    Column("past_kind", Holds.CHOICE, choices=PAST_KINDS),
    Column("fills_before", Holds.COUNT),
)
UPKEEP: tuple[Column, ...] = (
    Column("topping", Holds.CHOICE, choices=TOPPINGS),
    Column("top_every_days", Holds.COUNT),
    Column("top_below", Quantity.VOLUME, "top_below_ml"),
    Column("taste_every_days", Holds.COUNT),
    Column("sulphite_every_days", Holds.COUNT),
    Column("sniff_every_days", Holds.COUNT),
    Column("molecular_so2_floor_mg_l", Quantity.SULPHITE),
    Column("va_ceiling_g_l", Quantity.ACID),
    Column("top_from", Holds.TAG),
)
LOTS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("name", Holds.TEXT),
    Column("honey", Holds.TEXT),
    Column("original_sg", Quantity.GRAVITY),
    Column("final_sg", Quantity.GRAVITY),
    Column("abv", Quantity.STRENGTH),
    Column("cost_per_l", Quantity.MONEY),
    Column("pitched_on", Plain.WHEN),
    Column("finished_on", Plain.WHEN),
    _NOTE,
    *_REGISTERED,
    _ID,
)
FACTS_OF_CELLAR: tuple[Column, ...] = (
    Column("fact", Holds.CHOICE, "key", required=True, choices=tuple(FACTS)),
    Column("value", Plain.WORDS, required=True),
)
WHEN: tuple[Column, ...] = (Column("when", Plain.WHEN, "at", required=True),)
EVERY_ACT: tuple[Column, ...] = (
    *WHEN,
    Column("kind", Holds.CHOICE, required=True, choices=tuple(KINDS)),
    Column("hand", Holds.TEXT),
    _NOTE,
    Column("sure", Holds.FLAG),
    _ID,
    Column("written", Plain.WHEN),
    Column("together", Plain.ID),
)
FLIGHTS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("name", Holds.TEXT),
    Column("scale", Holds.TEXT),
    Column("poured", Plain.WHEN, "poured_at", required=True),
    Column("revealed", Plain.WHEN, "revealed_at"),
    Column("revealed_by", Holds.TEXT, longest=LONGEST_CODE),
    Column("attributes", Plain.WORDS),
    Column("test", Holds.CHOICE, choices=tuple(TEST_ORDERS)),
    Column("aim", Holds.CHOICE, choices=(DIFFER, ALIKE)),
    Column("asked", Holds.TEXT, longest=LONGEST_CODE),
    Column("expected", Holds.CHOICE, choices=SAMPLES, canonical=str.upper),
    Column("reference", Holds.CHOICE, choices=SAMPLES, canonical=str.upper),
    Column("rounds", Holds.COUNT),
    *(Column(name, Quantity.NUMBER) for name in ("alpha", "share", "power")),
    _ID,
)
SCORES: tuple[Column, ...] = (
    Column("flight", Holds.TEXT, required=True),
    Column("glass", Holds.TEXT, required=True, longest=10),
    Column("position", Holds.COUNT),
    Column("vessel", Holds.TAG),
    Column("what", Holds.TEXT),
    Column("role", Holds.CHOICE, choices=(REFERENCE, CONTROL, *SAMPLES), canonical=_role),
    Column("taster", Holds.TEXT, longest=LONGEST_CODE),
    Column("score", Quantity.NUMBER),
    Column("marks", Plain.WORDS),
    Column("words", Plain.WORDS),
    Column("verdict", Holds.CHOICE, choices=VERDICTS, canonical=canonical_verdict),
    Column("weeks", Holds.COUNT),
    Column("written", Plain.WHEN),
    _ID,
    Column("sealed", Holds.TEXT),
)
VOCABULARY: tuple[Column, ...] = (
    Column("kind", Holds.CHOICE, required=True, choices=("attribute", "word")),
    Column("name", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("family", Holds.TEXT, longest=LONGEST_CODE),
    Column("part", Holds.TEXT),
    Column("scale", Holds.TEXT),
    Column("fault", Holds.FLAG, "is_fault"),
    Column("formerly", Holds.TEXT),
    Column("retired", Plain.WHEN, "retired_at"),
    _ID,
)
SERVINGS: tuple[Column, ...] = (
    Column("flight", Holds.TEXT, required=True),
    Column("taster", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("place", Holds.COUNT, required=True),
    Column("glasses", Holds.TEXT, required=True),
    Column("drawn", Plain.WHEN, "drawn_at"),
)
SETS: tuple[Column, ...] = (
    Column("flight", Holds.TEXT, required=True),
    Column("taster", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("round", Holds.COUNT, required=True),
    Column("glasses", Holds.TEXT, required=True),
    Column("drawn", Plain.WHEN, "drawn_at"),
    Column("answer", Holds.TEXT),
    Column("answered", Plain.WHEN, "answered_at"),
    _ID,
    Column("sealed", Holds.TEXT),
)
DEPARTURES: tuple[Column, ...] = (
    Column("flight", Holds.TEXT, required=True),
    Column("taster", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("left", Plain.WHEN, "at", required=True),
    Column("hand", Holds.TEXT, longest=LONGEST_CODE),
)
PEEKS: tuple[Column, ...] = (
    Column("flight", Holds.TEXT, required=True),
    Column("looked_up", Plain.WHEN, "at", required=True),
    Column("hand", Holds.TEXT, longest=LONGEST_CODE),
    _ID,
)
ORDERS: tuple[Column, ...] = (
    Column("number", Holds.COUNT, required=True),
    Column("day", Plain.DAY, required=True),
    Column("place", Holds.COUNT),
    Column("kind", Holds.CHOICE, required=True, choices=tuple(KINDS)),
    Column("fields", Plain.WORDS, "texts", required=True),
    Column("of_each", Plain.WORDS, "each"),
    _NOTE,
    Column("hand", Holds.TEXT),
    Column("written", Plain.WHEN, "written_at", required=True),
    Column("state", Holds.CHOICE, choices=("open", "done", "withdrawn")),
    Column("entries", Plain.WORDS),
    Column("why", Plain.WORDS),
    Column("closed", Plain.WHEN, "closed_at"),
    _ID,
)

READY: tuple[Column, ...] = (
    Column("lot", Holds.TEXT),
    Column("limits", Plain.WORDS),
    Column("chance", Quantity.PERCENT),
    Column("risk", Quantity.PERCENT),
    Column("hand", Holds.TEXT),
    Column("written", Plain.WHEN, "written_at"),
    _ID,
)
PRICES: tuple[Column, ...] = (
    Column("item", Holds.TEXT, required=True),
    Column("bottle", Quantity.VOLUME, "bottle_ml"),
    Column("price", Quantity.MONEY, "amount"),
    Column("currency", Holds.TEXT),
    Column("from", Plain.WHEN, "holds_from", required=True),
    Column("hand", Holds.TEXT, longest=LONGEST_CODE),
    Column("written", Plain.WHEN, "written_at"),
    Column("sure", Holds.FLAG),
    _ID,
)
RULES: tuple[Column, ...] = (
    Column("profile", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("name", Holds.TEXT, required=True),
    Column("value", Plain.WORDS),
    Column("since", Plain.DAY, required=True),
    Column("source", Plain.WORDS),
    _NOTE,
    Column("hand", Plain.WORDS),
    Column("written", Plain.WHEN, "written_at"),
    _ID,
)
RISKS_PASSED: tuple[Column, ...] = (
    Column("vessels", Plain.WORDS, required=True),
    Column("asked", Plain.WORDS, required=True),
    Column("figures", Plain.WORDS, required=True),
    Column("reasons", Plain.WORDS, required=True),
    Column("hand", Plain.WORDS),
    Column("written", Plain.WHEN, "written_at"),
    _ID,
)
RUNS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    *(Column(name, Plain.WORDS, required=True) for name in ("vessels", "sizes", "expected")),
    Column("label", Quantity.STRENGTH),
    Column("risks", Plain.ID, "risks_id", required=True),
    Column("hand", Plain.WORDS),
    Column("opened", Plain.WHEN, "opened_at", required=True),
    Column("id", Plain.ID, required=True),
)
RUN_LINES: tuple[Column, ...] = (
    Column("run", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("number", Holds.COUNT, required=True),
    Column("kind", Holds.CHOICE, required=True, choices=RUN_LINE_KINDS),
    Column("bottle", Quantity.VOLUME, "bottle_ml"),
    Column("bottles", Holds.COUNT),
    Column("volume", Quantity.VOLUME, "ml"),
    Column("volumes_ml", Plain.WORDS),
    Column("words", Plain.WORDS),
    Column("strikes", Holds.COUNT),
    Column("hand", Plain.WORDS),
    Column("at", Plain.WHEN, required=True),
)
RUN_CLOSINGS: tuple[Column, ...] = (
    Column("run", Holds.TEXT, required=True, longest=LONGEST_CODE),
    *(Column(name, Plain.WORDS, required=True) for name in ("entries", "came_to")),
    Column("hand", Plain.WORDS),
    Column("at", Plain.WHEN, required=True),
    Column("id", Plain.ID, required=True),
)
TRIALS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("question", Holds.TEXT),
    Column("stocks", Plain.WORDS, required=True),
    Column("limits", Plain.WORDS),
    Column("design", Holds.TEXT, required=True),
    Column("degree", Holds.COUNT, required=True),
    Column("glasses", Plain.WORDS, required=True),
    Column("step_ml", Quantity.NUMBER, required=True),
    Column("scale", Holds.TEXT, required=True),
    Column("tasters", Plain.WORDS),
    Column("flights", Plain.WORDS),
    Column("hand", Holds.TEXT, longest=LONGEST_CODE),
    Column("written", Plain.WHEN, "written_at"),
    Column("withdrawn", Plain.WHEN, "withdrawn_at"),
    Column("withdrawn_by", Holds.TEXT, longest=LONGEST_CODE),
    Column("why", Plain.WORDS),
    _ID,
)

BARREL_TRIALS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("question", Plain.WORDS, required=True),
    Column("measure", Holds.TEXT, required=True),
    Column("scale", Holds.TEXT),
    Column("treatments", Plain.WORDS, required=True),
    Column("barrels", Plain.WORDS, required=True),
    Column("blocked_by", Plain.WORDS),
    Column("seed", Holds.COUNT),
    Column("sittings", Plain.WORDS, required=True),
    Column("tasters", Plain.WORDS),
    Column("difference", Quantity.NUMBER),
    Column("level", Quantity.NUMBER, required=True),
    Column("stated", Plain.WORDS, required=True),
    Column("flights", Plain.WORDS),
    Column("hand", Plain.WORDS),
    Column("written", Plain.WHEN, "written_at"),
    Column("withdrawn", Plain.WHEN, "withdrawn_at"),
    Column("withdrawn_by", Plain.WORDS),
    Column("why", Plain.WORDS),
    _ID,
    Column("sealed", Holds.TEXT),
)

PERIODS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("start", Plain.WHEN, "starts_at", required=True),
    Column("end", Plain.WHEN, "ends_at", required=True),
    Column("zone", Plain.WORDS, required=True),
    Column("unit", Holds.TEXT, required=True),
    *(Column(name, Plain.WORDS, required=True) for name in ("classes", "figures", "totals")),
    *(Column(name, Plain.WORDS) for name in ("bottlings", "counted", "hand")),
    _NOTE,
    Column("written", Plain.WHEN, "written_at", required=True),
    Column("corrects", Holds.TEXT, longest=LONGEST_CODE),
    Column("digest", Holds.TEXT, required=True),
    Column("id", Plain.ID, required=True),
)
FILED_ENTRIES: tuple[Column, ...] = (
    Column("period", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("entry", Plain.ID, required=True),
)
HONEYS: tuple[Column, ...] = (
    Column("code", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("mass", Quantity.MASS, "grams", required=True),
    *(Column(name, Holds.TEXT) for name in ("producer", "floral", "harvest", "supplier_lot")),
    Column("moisture", Quantity.PERCENT),
    Column("method", Holds.TEXT),
    Column("price_per_kg", Quantity.MONEY),
    Column("came_on", Plain.WHEN),
    _NOTE,
    Column("hand", Holds.TEXT),
    Column("written", Plain.WHEN, "written_at"),
    _ID,
)
BATCHES: tuple[Column, ...] = (
    Column("lot", Holds.TEXT, required=True, longest=LONGEST_CODE),
    Column("water", Quantity.VOLUME, "water_ml", required=True),
    Column("honeys", Plain.WORDS),
    Column("juices", Plain.WORDS, "others"),
    Column("yeast", Holds.TEXT),
    Column("tolerance", Quantity.STRENGTH),
    Column("coolest", Quantity.TEMPERATURE),
    Column("warmest", Quantity.TEMPERATURE),
    Column("nutrient_nitrogen_mg_g", Quantity.NUMBER, "nutrient_n"),
    Column("target_sg", Quantity.GRAVITY),
    Column("target_l", Quantity.NUMBER),
    Column("end_sg", Quantity.GRAVITY),
    Column("end_sd", Quantity.NUMBER),
    _NOTE,
    Column("hand", Holds.TEXT),
    Column("written", Plain.WHEN, "written_at"),
    _ID,
)


def columns_of(kind: type[Act]) -> tuple[Column, ...]:
    """Return the columns that are a kind's own, from its declarations."""
    return tuple(_column(declared, face) for declared, face in faces(kind))


def _column(declared: "Field[Any]", face: FieldSpec) -> Column:
    holds = Plain.WORDS if declared.name in _WORDS else face.holds
    choices = face.choices() if face.choices is not None else ()
    return Column(face.name, holds, declared.name, is_required(declared), choices, face.longest, face.canonical)


def _entry_columns() -> tuple[Column, ...]:
    """List every column of the entries file once, in the order the kinds declare them."""
    own = [column for kind in KINDS.values() for column in columns_of(kind)]
    return EVERY_ACT + tuple({column.name: column for column in own}.values())


FILES: Mapping[str, tuple[Column, ...]] = {
    "vessels": VESSELS + BARREL + UPKEEP,
    "lots": LOTS,
    "entries": _entry_columns(),
    "vocabulary": VOCABULARY,
    "flights": FLIGHTS,
    "scores": SCORES,
    "servings": SERVINGS,
    "peeks": PEEKS,
    "sets": SETS,
    "departures": DEPARTURES,
    "facts": FACTS_OF_CELLAR,
    "orders": ORDERS,
    "ready": READY,
    "trials": TRIALS,
    "barrel_trials": BARREL_TRIALS,
    "prices": PRICES,
    "periods": PERIODS,
    "filed_entries": FILED_ENTRIES,
    "rules": RULES,
    "risks_passed": RISKS_PASSED,
    "honeys": HONEYS,
    "batches": BATCHES,
    "runs": RUNS,
    "run_lines": RUN_LINES,
    "run_closings": RUN_CLOSINGS,
}
"""The columns of every file by its name, in the order the files are read."""


def required_columns(file: str) -> tuple[str, ...]:
    """Name the columns that the header of a file must have: what every row of it needs."""
    columns = EVERY_ACT if file == "entries" else FILES[file]
    return tuple(column.name for column in columns if column.required)
