"""A cellar's own values of rules, and the profile it works by: rows that are only added, each with day and source."""

import re
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_NOTE, LONGEST_TEXT, check_text
from cooperage.book.store.tables import OWN_RULE
from cooperage.errors import BadInput, Refused, choose_from, did_you_mean
from cooperage.programme.rules.figure import RuleFigure, RuleMark
from cooperage.programme.rules.shipped import PROFILES, REFERENCES, shipped_figures
from cooperage.programme.rules.span import parse_span

PROFILE = "profile"
"""The name under which stands which profile the cellar works by."""
USUAL = PROFILES[0]
_OF_A_SIZE = re.compile(r"fill-each\.(\d+)ml")
_SIGN = {"sulphite-statement": ">="}
"""What a bare number means where a rule is a limit; any other is a maximum."""


class NoSuchProfile(BadInput):
    """Rules of nowhere that is known."""

    def __init__(self, given: str) -> None:
        super().__init__(f"there are no rules '{given}'{choose_from(given, PROFILES)}")


class NoSuchRule(BadInput):
    """A name that no rule has."""

    def __init__(self, given: str, profile: str, known: list[str]) -> None:
        hint = did_you_mean(given, known, f"; `cooperage rules list --profile {profile}` lists them")
        super().__init__(f"the {profile} rules have no '{given}'{hint}")


class NotAValue(BadInput):
    """A text that a rule's value cannot be."""

    def __init__(self, figure: RuleFigure, text: str, example: str) -> None:
        super().__init__(f"'{text}' is no value of {figure.name} [{figure.unit}]; write it as {example}")


class NoSource(BadInput):
    """A value without its source."""

    def __init__(self) -> None:
        super().__init__("give the source of the value, such as --source 'letter of the excise office, 3 May 2026'")


class NothingOwn(Refused):
    """A value of the cellar's own is to be withdrawn where there is none."""

    def __init__(self, profile: str, name: str) -> None:
        super().__init__(f"the cellar has no value of its own for {name} of the {profile} rules")


@dataclass(frozen=True, slots=True)
class OwnRule:
    """A value that the cellar gave a rule, from a day on; None withdraws what it gave before."""

    id: str
    profile: str
    name: str
    value: str | None
    since: date
    source: str
    note: str
    hand: str
    written_at: datetime


def own_rules(connection: Connection) -> list[OwnRule]:
    """List all that was ever written, oldest first."""
    query = select(OWN_RULE).order_by(OWN_RULE.c.written_at, OWN_RULE.c.id)
    return [OwnRule(**row._mapping) for row in connection.execute(query)]


def profile_named(text: str, *, references: bool = False) -> str:
    """Return a profile's name as it is kept, typed in any case; raises NoSuchProfile."""
    name = text.strip().upper()
    if name not in PROFILES + (REFERENCES if references else ()):
        raise NoSuchProfile(text)
    return name


def profile_in_use(every: list[OwnRule], day: date) -> tuple[str, OwnRule | None]:
    """Return the profile that the cellar works by on a day, and the row that chose it; None where none was chosen."""
    chosen = [each for each in every if each.name == PROFILE and each.since <= day]
    latest = max(chosen, key=lambda each: (each.since, each.written_at), default=None)
    return (latest.profile, latest) if latest is not None else (USUAL, None)


def template_of(profile: str, name: str) -> RuleFigure:
    """Return what a name stands for, from the figures that are shipped: the newest of it, without its value.

    A fill tolerance can be given for a size that is not shipped: "fill-each.630ml". Raises NoSuchRule.
    """
    typed = name.strip().casefold()
    known = [each for each in shipped_figures() if each.profile == profile]
    if found := [each for each in known if each.name == typed]:
        return replace(found[-1], value=None, since=None, until=None)
    sized = _OF_A_SIZE.fullmatch(typed)
    like = next((each for each in known if each.rule == "fill-each"), None)
    if sized is None or like is None:
        raise NoSuchRule(name, profile, [each.name for each in known])
    return replace(like, name=typed, span=parse_span(f"= {int(sized[1])}"), value=None, mark=RuleMark.NOT_FOUND)


def read_value(figure: RuleFigure, text: str) -> str:
    """Return what was typed as the value of a figure, as it is kept; raises NotAValue, NotASpan."""
    typed = " ".join(text.replace(",", ".").split()) if text.count(",") < 2 else text
    if "/" in figure.unit and figure.unit.startswith("bottles"):
        return _several(figure, typed)
    if _is_limit(figure):
        bare = _decimal(typed)
        return f"{_SIGN.get(figure.rule, '<=')} {bare}" if bare is not None else str(parse_span(typed))
    number = _decimal(typed)
    if number is None:
        raise NotAValue(figure, text, "a number, such as 2.5")
    return str(number)


_LIMITS = ("label-line", "state-line", "co2-still", "sparkling-pressure", "total-so2", "sulphite-statement")
_LIMITS += ("sorbic-acid", "volatile-acidity", "relief.line")


def _is_limit(figure: RuleFigure) -> bool:
    return (figure.rule in _LIMITS or figure.name in _LIMITS) and figure.name != "co2-still.measuring"


def _several(figure: RuleFigure, typed: str) -> str:
    wanted = figure.unit.count("/") + 1
    parts = [part.strip() for part in typed.split("/")]
    if len(parts) != wanted or any(_decimal(part) is None and part != "all" for part in parts):
        raise NotAValue(figure, typed, "/".join(["30", "1", "3"][:wanted]))
    return "/".join(parts)


def _decimal(text: str) -> Decimal | None:
    try:
        number = Decimal(text.removesuffix("%").strip())
    except InvalidOperation:
        return None
    return number if number.is_finite() and 0 <= number < 10**9 else None


def set_rule(
    book: Book, profile: str, name: str, text: str, *, since: date, source: str, note: str = "", hand: str = ""
) -> OwnRule:
    """Give a rule a value of the cellar's own from a day on; raises NoSuchRule, NotAValue, NotASpan, NoSource."""
    figure = template_of(profile, name)
    if not source.strip():
        raise NoSource
    return _write(book, profile, figure.name, read_value(figure, text), since, source.strip(), note, hand)


def withdraw_rule(book: Book, profile: str, name: str, *, since: date, why: str = "", hand: str = "") -> OwnRule:
    """Let the shipped value of a rule stand from a day on; raises NoSuchRule, NothingOwn."""
    figure = template_of(profile, name)
    with book.reading() as connection:
        if own_value(own_rules(connection), profile, figure.name, since) is None:
            raise NothingOwn(profile, figure.name)
    return _write(book, profile, figure.name, None, since, "", why, hand)


def use_profile(book: Book, profile: str, *, since: date, note: str = "", hand: str = "") -> OwnRule:
    """Let the cellar work by a profile from a day on; raises NoSuchProfile."""
    return _write(book, profile_named(profile), PROFILE, "in use", since, "chosen", note, hand)


def own_value(every: list[OwnRule], profile: str, name: str, day: date) -> OwnRule | None:
    """Return the cellar's own row of a rule that holds on a day; None where there is none, or it was withdrawn."""
    rows = [each for each in every if (each.profile, each.name) == (profile, name) and each.since <= day]
    latest = max(rows, key=lambda each: (each.since, each.written_at, each.id), default=None)
    return None if latest is None or latest.value is None else latest


def own_figure(own: OwnRule) -> RuleFigure:
    """Return a row of the cellar's own as a figure; raises NoSuchRule."""
    return replace(
        template_of(own.profile, own.name),
        value=own.value,
        since=own.since,
        source=own.source,
        as_of=own.since.isoformat(),
        mark=RuleMark.OWN,
        note=own.note,
        hand=own.hand,
        written_at=own.written_at,
    )


def _write(
    book: Book, profile: str, name: str, value: str | None, since: date, source: str, note: str, hand: str
) -> OwnRule:
    check_text(source, "the source", LONGEST_NOTE)
    check_text(note, "the note", LONGEST_NOTE)
    check_text(hand, "the name", LONGEST_TEXT)
    with book.writing() as session:
        made = OwnRule(session.new_id(), profile, name, value, since, source, note, hand, session.now)
        insert_own_rule(session.connection, made)
    return made


def insert_own_rule(connection: Connection, made: OwnRule) -> None:
    """Write a row in a transaction of the caller's."""
    row: dict[str, Any] = {field: getattr(made, field) for field in OwnRule.__slots__}
    connection.execute(insert(OWN_RULE), row)
