"""The figures that hold on a day: those shipped, and before them the cellar's own."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from cooperage.programme.rules.figure import RuleFigure
from cooperage.programme.rules.kept import (
    PROFILE,
    OwnRule,
    own_figure,
    own_rules,
    own_value,
    profile_in_use,
    profile_named,
    template_of,
)
from cooperage.programme.rules.shipped import shipped_figures

MEAD = "mead"
"""The product that figures are asked for where no other is named."""


@dataclass(frozen=True, slots=True)
class Profile:
    """The rules of one place on one day: of each name the figure that holds, in the order they are shipped."""

    name: str
    day: date
    figures: tuple[RuleFigure, ...]

    def named(self, name: str) -> RuleFigure:
        """Return the figure of a name, which may have no value; raises NoSuchRule."""
        typed = template_of(self.name, name)
        return next((each for each in self.figures if each.name == typed.name), typed)

    def of_rule(self, rule: str, kind: str = "") -> list[RuleFigure]:
        """List the figures of a rule: those for a kind, and those that are for all."""
        return [each for each in self.figures if each.rule == rule and each.kind in ("", kind)]

    def find(self, rule: str, at: float | None = None, kind: str = MEAD) -> RuleFigure | None:
        """Return the figure of a rule at a strength, size or lot, for a kind; None where the rules have none.

        One that is for the kind goes before one for all, and one that is known before one that is not.
        """
        found = [each for each in self.of_rule(rule, kind) if at is None or each.span.holds(at)]
        return min(found, key=lambda each: (not each.is_known, each.kind != kind), default=None)


def profile_of(connection: Connection, day: date, name: str | None = None) -> Profile:
    """Return the rules of a profile on a day, by default those the cellar works by; raises NoSuchProfile."""
    every = own_rules(connection)
    chosen = profile_in_use(every, day)[0] if name is None else profile_named(name, references=True)
    return profile_with(every, chosen, day)


def profile_with(every: Sequence[OwnRule], name: str, day: date) -> Profile:
    """Return the rules of a profile on a day, with rows of the cellar's own."""
    own = [each for each in every if each.profile == name and each.name != PROFILE]
    shipped = _holding(name, day)
    names = dict.fromkeys([*shipped, *(each.name for each in own)])
    found = (_one(own, name, each, day) or shipped.get(each) for each in names)
    return Profile(name, day, tuple(each for each in found if each is not None))


def _one(own: list[OwnRule], profile: str, name: str, day: date) -> RuleFigure | None:
    row = own_value(own, profile, name, day)
    return None if row is None else own_figure(row)


def _holding(profile: str, day: date) -> dict[str, RuleFigure]:
    """Return the shipped figures of a profile that hold on a day, by name; one that begins later is left out."""
    return {
        each.name: each
        for each in shipped_figures()
        if each.profile == profile
        and (each.since is None or each.since <= day)
        and (each.until is None or day <= each.until)
    }
