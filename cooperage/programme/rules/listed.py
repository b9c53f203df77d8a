"""The rules as they are listed: of each name the figure that holds, with what stands beside it."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from cooperage.programme.rules.figure import CHECK, RuleFigure, with_decimal
from cooperage.programme.rules.kept import PROFILE, OwnRule, own_figure, own_rules, profile_in_use
from cooperage.programme.rules.profile import Profile, profile_of
from cooperage.programme.rules.shipped import shipped_figures
from cooperage.units import DEFAULT, Units

HOW_LISTED = (
    "A reference with its sources and dates, no advice: check with your authority. "
    "What is not known is left for you to enter: `cooperage rules set`."
)


@dataclass(frozen=True, slots=True)
class RuleHistory:
    """One name: the figure that holds, those that are shipped, and all that the cellar entered, oldest first."""

    holds: RuleFigure
    shipped: tuple[RuleFigure, ...]
    own: tuple[OwnRule, ...]


def rule_history(connection: Connection, profile: Profile, name: str) -> RuleHistory:
    """Return a name with all its values; raises NoSuchRule."""
    figure = profile.named(name)
    own = [each for each in own_rules(connection) if (each.profile, each.name) == (profile.name, figure.name)]
    shipped = [each for each in shipped_figures() if (each.profile, each.name) == (profile.name, figure.name)]
    return RuleHistory(figure, tuple(shipped), tuple(own))


def rules_listed(connection: Connection, day: date, name: str | None = None, begins: str = "") -> list[RuleFigure]:
    """List the figures of a profile that hold on a day, those whose name begins so; raises NoSuchProfile."""
    found = profile_of(connection, day, name).figures
    return [each for each in found if each.name.startswith(begins.strip().casefold())]


def profile_words(connection: Connection, day: date) -> str:
    """Return which profile the cellar works by, since when and by whose choice."""
    name, row = profile_in_use(own_rules(connection), day)
    chosen = "the default" if row is None else f"since {row.since}" + (f", by {row.hand}" if row.hand else "")
    return f"The cellar works by the {name} rules ({chosen})."


RULE_HEAD = ("name", "value", "for", "source", "as of", "mark")


def rule_cells(figure: RuleFigure, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a figure as a row of a table."""
    held = ", ".join(filter(None, (figure.kind, f"{figure.of} {figure.span}".strip() if figure.span.parts else "")))
    return (
        figure.name,
        figure.words(units),
        with_decimal(held, units),
        figure.source,
        figure.as_of or "-",
        figure.mark.value,
    )


def rule_row(figure: RuleFigure) -> dict[str, object]:
    """Return a figure as a script reads it; `value` is text, as its source has it, in `unit`."""
    return {
        "profile": figure.profile,
        "name": figure.name,
        "kind": figure.kind,
        "of": figure.of,
        "range": str(figure.span),
        "value": figure.value,
        "unit": figure.unit,
        "since": figure.since and figure.since.isoformat(),
        "until": figure.until and figure.until.isoformat(),
        "source": figure.source,
        "as_of": figure.as_of,
        "mark": figure.mark.value,
        "note": figure.note,
        "hand": figure.hand,
        "check": CHECK,
    }


def own_row(own: OwnRule) -> dict[str, object]:
    """Return what the cellar entered as a script reads it."""
    row: dict[str, object] = {
        name: getattr(own, name) for name in ("profile", "name", "value", "source", "note", "hand")
    }
    return row | {"since": own.since.isoformat(), "written_at": own.written_at, "id": own.id}


def history_lines(history: RuleHistory, units: Units = DEFAULT) -> list[str]:
    """Return a name with all its values as lines: what holds, what is shipped, what was entered."""
    holds = history.holds
    lines = [f"{holds.name} of the {holds.profile} rules: {holds.words(units)}", f"  {holds.citation}"]
    lines += [f"  {holds.note}"] if holds.note else []
    lines += [f"  shipped: {_dated(each)}{each.words(units)}; {each.citation}" for each in history.shipped]
    lines += [f"  own: {own_words(each, units)}" for each in history.own]
    return lines


def _dated(figure: RuleFigure) -> str:
    since = f"from {figure.since} " if figure.since else ""
    return since + (f"to {figure.until} " if figure.until else "")


def own_words(own: OwnRule, units: Units = DEFAULT) -> str:
    """Return what the cellar entered as text."""
    if own.name == PROFILE:
        return f"{own.profile} rules from {own.since}" + (f", by {own.hand}" if own.hand else "")
    why = own.note if own.value is None else own.source
    what = "withdrawn" if own.value is None else f"{with_decimal(own.value, units)} {own_figure(own).unit}"
    return f"from {own.since} {what}" + (f"; {why}" if why else "") + (f", by {own.hand}" if own.hand else "")
