"""Which texts, numbers and dates the book takes: a rule for each field, declared beside it.

Whatever comes in (a form, a command, an import, Python) is tidied and checked here just before it is written, so
that what one door takes every door takes, on both databases, and an export can always be read back.
"""

import re
from collections.abc import Callable
from dataclasses import MISSING, Field, dataclass, field, fields, replace
from datetime import UTC, datetime
from math import isfinite
from typing import Any, TypeVar, cast

from cooperage.book.declared.places import AWAY_SPELLINGS, OUTSIDE_IDS
from cooperage.book.declared.spelling import folded
from cooperage.errors import BadInput, choose_from
from cooperage.plaintext import refuse_controls, visible

LONGEST_CODE = 40
"""The most letters of a tag, a code or a taster's name: the width of their columns."""
LONGEST_TEXT = 500
LONGEST_NOTE = 1_000_000
"""The most letters of a note, or of a brief and its plan: what an import still reads from one cell."""
MOST_COUNTED = 2**31 - 1
"""The largest whole number that every database keeps in an integer column (PostgreSQL, Numeric Types)."""
LEAST_FIGURE = 1e-9
"""The smallest figure above zero; with all its digits it is still short enough to be read back from a file."""
_FIRST_DAY, _LAST_DAY = datetime(1800, 1, 1, tzinfo=UTC), datetime(2300, 1, 1, tzinfo=UTC)
_ID = re.compile(r"[0-9a-z-]{1,64}")
_SHOWN = 20


class NotAllowed(BadInput):
    """A value that a field cannot have; `field` is its name in the code."""

    def __init__(self, name: str, why: str) -> None:
        self.field = name
        super().__init__(why)


@dataclass(frozen=True, slots=True)
class Allowed:
    """What one field takes: `tidy` returns a value as it is kept or raises BadInput; the rest is for forms and help."""

    label: str
    tidy: Callable[[str, Any], Any]
    choices: tuple[str, ...] = ()
    longest: int | None = None
    between: tuple[float, float] | None = None
    needed: bool = False


def allowed(rule: Allowed, *, default: object = MISSING) -> Any:  # noqa: ANN401 - like dataclasses.field
    """Declare a field of a dataclass by its rule."""
    if default is MISSING:
        return field(metadata={"allowed": rule})
    return field(default=default, metadata={"allowed": rule})


def rule_of(declared: "Field[Any]") -> Allowed | None:
    """Return the rule a field was declared by."""
    return cast("Allowed | None", declared.metadata.get("allowed"))


def rules_of(kind: type[Any]) -> dict[str, Allowed]:
    """Return the rules of a dataclass by field."""
    return {declared.name: rule for declared in fields(kind) if (rule := rule_of(declared)) is not None}


T = TypeVar("T")


def tidied(value: T) -> T:
    """Return a dataclass with every declared field as it is kept; raises NotAllowed naming the first bad field."""
    kept: dict[str, Any] = {}
    for name, rule in rules_of(type(value)).items():
        given = getattr(value, name)
        if given is None and not rule.needed:
            continue
        try:
            kept[name] = rule.tidy(rule.label, given)
        except BadInput as error:
            raise NotAllowed(name, str(error)) from error
    return replace(value, **kept)  # type: ignore[type-var]


def check_text(text: object, label: str, longest: int, *, lines: bool = False) -> str:
    """Return a text that can be kept; raises BadInput."""
    if not isinstance(text, str):
        raise BadInput(f"{label} must be text, not {type(text).__name__}")
    refuse_controls(text, label, lines=lines)
    if len(text) > longest:
        raise BadInput(f"{label} '{text[:_SHOWN]}…' is longer than {longest} letters; shorten it")
    return text


def words(label: str, longest: int = LONGEST_TEXT, *, needed: bool = False) -> Allowed:
    """Declare a text of one line; spaces around it are cut, and blank is unknown, or refused where it is `needed`."""

    def tidy(label: str, given: object) -> str | None:
        text = check_text(given.strip() if isinstance(given, str) else given, label, longest)
        if not text and needed:
            raise BadInput(f"{label} is blank; give at least a letter")
        return text or None

    return Allowed(label, tidy, longest=longest, needed=needed)


def name_tag(label: str, *, needed: bool = False) -> Allowed:
    """Declare a vessel's tag: short, without the ; and = that separate draws, and without invisible characters."""

    def tidy(label: str, given: object) -> str | None:
        text = check_text(given.strip() if isinstance(given, str) else given, label, LONGEST_CODE)
        if not text:
            if needed:
                raise BadInput(f"{label} is blank; give at least a letter")
            return None
        if strange := next((sign for sign in text if sign in ";=" or not sign.isprintable()), ""):
            raise BadInput(f"{label} cannot hold {_named(strange)}, as '{text}' does; write it without")
        if folded(text) in AWAY_SPELLINGS:
            raise BadInput(f"{label} cannot be '{text}', which is a place that mead goes to; choose another")
        return text

    return Allowed(label, tidy, longest=LONGEST_CODE, needed=needed)


def _named(sign: str) -> str:
    return sign if sign.isprintable() else f"the invisible character U+{ord(sign):04X}"


def note(label: str = "the note") -> Allowed:
    """Declare free text of any lines, kept to the letter."""

    def tidy(label: str, given: object) -> str:
        return check_text(given, label, LONGEST_NOTE, lines=True)

    return Allowed(label, tidy, longest=LONGEST_NOTE, needed=True)


def one_of(label: str, choices: tuple[str, ...], *, needed: bool = False) -> Allowed:
    """Declare a word out of a list."""

    def tidy(label: str, given: object) -> str:
        if given not in choices:
            shown = visible(str(given))[:_SHOWN]
            raise BadInput(f"{label} cannot be '{shown}'{choose_from(shown, choices)}")
        return str(given)

    return Allowed(label, tidy, choices=choices, needed=needed)


def whole(label: str, lowest: int, highest: int = MOST_COUNTED, *, needed: bool = False) -> Allowed:
    """Declare a whole number between two, both included."""

    def tidy(label: str, given: object) -> int:
        if not isinstance(given, int) or isinstance(given, bool):
            raise BadInput(f"{label} must be a whole number, not '{visible(str(given))[:_SHOWN]}'")
        return int(_inside(label, given, lowest, highest))

    return Allowed(label, tidy, between=(lowest, highest), needed=needed)


def number_between(label: str, lowest: float, highest: float) -> Allowed:
    """Declare a number between two, both included; never infinite, never 'not a number'."""

    def tidy(label: str, given: object) -> float:
        if isinstance(given, bool) or not isinstance(given, int | float):
            raise BadInput(f"{label} must be a number, not '{visible(str(given))[:_SHOWN]}'")
        return float(_inside(label, given, lowest, highest))

    return Allowed(label, tidy, between=(lowest, highest))


def _inside(label: str, given: float, lowest: float, highest: float) -> float:
    if isinstance(given, float) and not isfinite(given):
        raise BadInput(f"{label} cannot be '{given}'; give a number, or leave it out")
    if 0 < abs(given) < LEAST_FIGURE:
        raise BadInput(f"{label} cannot be {given:g}; give 0, or leave it out")
    if not lowest <= given <= highest:
        raise BadInput(f"{label} cannot be {_digits(given)}; it lies between {_digits(lowest)} and {_digits(highest)}")
    return given


def _digits(given: float) -> str:
    return f"{given:,}".replace(",", " ") if isinstance(given, int) and abs(given) < 10**15 else f"{given:g}"


def day(label: str) -> Allowed:
    """Declare a moment that knows its time zone, between the years 1800 and 2300."""

    def tidy(label: str, given: object) -> datetime:
        if not isinstance(given, datetime) or given.tzinfo is None:
            raise BadInput(f"{label} must be a date with its time zone, not '{visible(str(given))[:_SHOWN]}'")
        if not _FIRST_DAY <= given < _LAST_DAY:
            raise BadInput(f"{label} cannot be in {given.year}; correct the year")
        return given.astimezone(UTC)

    return Allowed(label, tidy)


def new_id() -> Allowed:
    """Declare an id: blank until the writer makes one."""

    def tidy(_label: str, given: object) -> str:
        if given == "":
            return ""
        if not isinstance(given, str) or not _ID.fullmatch(given) or given in OUTSIDE_IDS:
            shown = visible(str(given))[:_SHOWN]
            raise BadInput(f"'{shown}' is no id; use up to 64 small letters a to z, digits and hyphens")
        return given

    return Allowed("the id", tidy, needed=True)
