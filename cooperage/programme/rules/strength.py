"""What the rules make of a strength: its tax class, whether a label agrees with it, and the lines near it."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from cooperage.programme.rules.figure import RuleFigure
from cooperage.programme.rules.profile import MEAD, Profile
from cooperage.programme.rules.span import exactly

STILL = "still"


@dataclass(frozen=True, slots=True)
class LabelCheck:
    """A stated strength held against the actual one, in points of % vol.

    `tolerance` is the rule for it, None where the profile has none; `crossed` are the lines that lie between the two.
    `is_within` is None where the tolerance is not known.
    """

    stated: Decimal
    actual: Decimal
    tolerance: RuleFigure | None
    crossed: tuple[RuleFigure, ...]

    @property
    def off(self) -> Decimal:
        """How far apart the two are."""
        return abs(self.stated - self.actual)

    @property
    def is_within(self) -> bool | None:
        """Whether the two are near enough; just as far apart as the tolerance is."""
        if self.tolerance is None or not self.tolerance.is_known:
            return None
        return self.off <= self.tolerance.number

    @property
    def is_ok(self) -> bool | None:
        """Whether nothing is wrong; None where the tolerance is not known and no line is crossed."""
        return False if self.crossed else self.is_within

    @property
    def words(self) -> str:
        """What is wrong, in a few words; "ok" where nothing is."""
        if self.is_within is False:
            return "outside tolerance"
        if self.crossed:
            return f"crosses {self.crossed[0].number}"
        return "ok" if self.is_within else "tolerance not known"


def check_label(profile: Profile, stated: float, actual: float, kind: str = MEAD) -> LabelCheck:
    """Hold a strength stated on a label against the actual one [% vol]; the method's uncertainty is not added."""
    low, high = exactly(stated), exactly(actual)
    return LabelCheck(low, high, profile.find("label-tolerance", stated, kind), tuple(_crossed(profile, low, high)))


def _crossed(profile: Profile, one: Decimal, other: Decimal) -> Iterator[RuleFigure]:
    """Yield the lines between two strengths that may not be misstated."""
    for line in profile.of_rule("label-line"):
        if line.is_known and line.limit.holds(one) != line.limit.holds(other):
            yield line


def check_label_range(profile: Profile, low: float, high: float) -> str:
    """Hold a range of strengths stated on a label against the widest allowed and the lines it may not overlap.

    Returns "overlaps 14", "too wide", "ok", or that it is not known here.
    """
    least, most = exactly(low), exactly(high)
    widest = profile.find("label-range", high)
    if widest is None or not widest.is_known:
        return "not known here"
    if line := next(_crossed(profile, least, most), None):
        return f"overlaps {line.number}"
    return "ok" if most - least <= widest.number else "too wide"


def tax_class(profile: Profile, strength: float, kind: str = STILL) -> RuleFigure | None:
    """Return the tax class of a strength [% vol]; its value is the rate, per what its unit has.

    `kind` is "still", "sparkling", "carbonated" or "low-alcohol mead"; "still, spirit added" counts as "still" where
    the profile makes no difference. None where the profile has no class for it.
    """
    kinds = (kind, kind.partition(",")[0])
    found = (profile.find("tax-class", strength, each) for each in kinds)
    return next((each for each in found if each is not None), None)


def tax_lines(profile: Profile) -> tuple[Decimal, ...]:
    """Return the strengths at which a still tax class changes [% vol], rising."""
    classes = [*profile.of_rule("tax-class", STILL), *profile.of_rule("tax-class", "still, spirit added")]
    return tuple(sorted({bound for each in classes for bound in each.span.bounds}))


def lines(profile: Profile) -> tuple[Decimal, ...]:
    """Return every strength at which a class of tax or label changes [% vol], rising."""
    named = {each.number for each in profile.of_rule("label-line") if each.is_known}
    return tuple(sorted(named | set(tax_lines(profile))))


def nearest_line(profile: Profile, strength: float) -> Decimal | None:
    """Return the line nearest to a strength [% vol]; None where the profile has none."""
    return min(lines(profile), key=lambda line: abs(line - exactly(strength)), default=None)
