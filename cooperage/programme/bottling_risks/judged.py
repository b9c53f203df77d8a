"""A fill judged by a profile, and the words for it: the least mean to set a line to, the sample, the lot. Pure.

A profile tolerates either an error of so many short bottles beside an average (EU, UK), or a share over and under of
each (US). Where it has the first, a target for the line and the inspectors' plans follow; where it has the second, the
average is held against what chance gives.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from cooperage.programme.bottling_risks.fill import (
    EachBottle,
    FillSample,
    FillTarget,
    Inspected,
    NoPlan,
    ShortAverage,
    average_is_within,
    average_off_percent,
    chance_accepted,
    check_each,
    count_below,
    fill_sample,
    fill_target,
    inspect,
    plans_of,
    short_average,
    tolerable_error,
)
from cooperage.programme.rules.figure import RuleUnknown
from cooperage.programme.rules.profile import Profile
from cooperage.programme.rules.span import exactly
from cooperage.units import Quantity, Units, counted, show

SHARES_SHORT = (0.01, 0.025, 0.05, 0.1)
"""Shares of a lot that are short, for which the chance is shown that a plan accepts it."""


@dataclass(frozen=True, slots=True)
class FillAsked:
    """What is asked of a fill: a size [mL], volumes at 20 °C [mL], or the spread of a line [mL] without them.

    `lot` is how many bottles an inspector would judge by the sample; `most_short_ml` the largest shortage of one bottle
    that your authority allows; `averages_ml` those of the last tax periods, oldest first.
    """

    nominal_ml: float
    volumes_ml: Sequence[float] = ()
    spread_ml: float | None = None
    lot: int | None = None
    destructive: bool = False
    second: bool = False
    most_short_ml: float | None = None
    averages_ml: Sequence[float] = ()


@dataclass(frozen=True, slots=True)
class FillJudged:
    """A fill as a profile has it; what it does not have, or what was not asked, is None or empty.

    `accepted` are shares of short bottles [1] with the chance [1] that the plan of the lot accepts it; `gap` is what
    the rules do not have.
    """

    profile: str
    asked: FillAsked
    sample: FillSample | None = None
    error_ml: float | None = None
    short: int = 0
    each: EachBottle | None = None
    target: FillTarget | None = None
    average: ShortAverage | None = None
    inspected: Inspected | None = None
    accepted: tuple[tuple[float, float], ...] = ()
    is_within: bool | None = None
    gap: str = ""


def judge_fill(profile: Profile, asked: FillAsked) -> FillJudged:
    """Judge a fill by a profile; raises NoPlan where the sample is not of the size that the plan of its lot asks."""
    sample = fill_sample(asked.volumes_ml) if len(asked.volumes_ml) > 1 else None
    spread = asked.spread_ml if sample is None else sample.s_ml
    is_within = average_is_within(profile, asked.averages_ml, asked.nominal_ml) if asked.averages_ml else None
    try:
        error = tolerable_error(profile, asked.nominal_ml)
    except RuleUnknown as unknown:
        return FillJudged(profile.name, asked, sample, gap=str(unknown), is_within=is_within)
    except NoPlan:
        return _judged_each(profile, asked, sample, is_within)
    target = None if spread is None else fill_target(asked.nominal_ml, float(error), spread)
    found = FillJudged(
        profile.name,
        asked,
        sample,
        float(error),
        count_below(asked.volumes_ml, exactly(asked.nominal_ml) - error),
        target=target,
        is_within=is_within,
    )
    return found if asked.lot is None else _with_lot(found, profile, asked.lot)


def _judged_each(profile: Profile, asked: FillAsked, sample: FillSample | None, is_within: bool | None) -> FillJudged:
    """Judge each bottle over and under, and the average of the sample by chance."""
    average = None if sample is None else short_average(sample, asked.nominal_ml, asked.most_short_ml)
    try:
        each = check_each(profile, asked.volumes_ml, asked.nominal_ml)
    except (NoPlan, RuleUnknown) as gap:
        return FillJudged(profile.name, asked, sample, average=average, gap=str(gap), is_within=is_within)
    return FillJudged(profile.name, asked, sample, each=each, average=average, is_within=is_within)


def _with_lot(found: FillJudged, profile: Profile, lot: int) -> FillJudged:
    """Add what the plan of a lot finds in the sample, and how often it accepts a lot of which some are short."""
    asked = found.asked
    first, second = plans_of(profile, lot, destructive=asked.destructive)
    accepted = tuple((share, chance_accepted(share, first, second)) for share in SHARES_SHORT)
    inspected = None
    if found.sample is not None:
        inspected = inspect(
            profile, found.sample, asked.nominal_ml, lot, destructive=asked.destructive, second=asked.second
        )
    return replace(found, accepted=accepted, inspected=inspected)


# --- the words ------------------------------------------------------------------------------------------------------


def fill_lines(found: FillJudged, units: Units) -> list[str]:
    """Return what was found as lines, the sample first."""
    return [
        *_sample_lines(found, units),
        *(words for words, _ in _rule_lines(found, units)),
        *target_lines(found, units),
        *_lot_lines(found, units),
        *_period_lines(found, units),
    ]


def wrong_fill_lines(found: FillJudged, units: Units) -> list[str]:
    """Return those of `fill_lines` that name something wrong: bottles outside, an average that is short."""
    return [words for words, is_wrong in _rule_lines(found, units) if is_wrong]


def show_ml(value: float, units: Units) -> str:
    """Return millilitres of a bottle to a tenth."""
    return f"{show(Quantity.NUMBER, value, units, digits=1)} mL"


def _sample_lines(found: FillJudged, units: Units) -> Iterator[str]:
    volumes, nominal = found.asked.volumes_ml, found.asked.nominal_ml
    if not volumes:
        return
    line = f"fill of {nominal:g} mL: {counted(len(volumes), 'bottle')} checked, shortest {show_ml(min(volumes), units)}"
    if (sample := found.sample) is not None:
        over = "over" if sample.mean_ml >= nominal else "under"
        line += (
            f", mean {show_ml(sample.mean_ml, units)} ({show_ml(abs(sample.mean_ml - nominal), units)} {over}), "
            f"spread {show_ml(sample.s_ml, units)}"
        )
    yield line


def _rule_lines(found: FillJudged, units: Units) -> Iterator[tuple[str, bool]]:
    """Yield what the rules have for it, and whether that is wrong."""
    measured = len(found.asked.volumes_ml)
    if found.gap:
        yield found.gap, False
    if found.error_ml is not None:
        short = f": {found.short} of {measured} short by more" if measured else ""
        yield f"tolerable error {show_ml(found.error_ml, units)} ({found.profile} rules){short}", found.short > 0
    if found.each is not None:
        limits = f"{show_ml(float(found.each.low_ml), units)} to {show_ml(float(found.each.high_ml), units)}"
        outside = f": {len(found.each.outside)} of {measured} outside" if measured else ""
        yield f"{found.profile} rules let a bottle hold {limits}{outside}", bool(found.each.outside)
        if measured:
            yield f"{found.each.over} over and {found.each.under} under: about as many of each is wanted", False
    if (average := found.average) is not None:
        yield _average_words(average, units), average.average_ml < 0 and not average.passes


def _average_words(average: ShortAverage, units: Units) -> str:
    """Return how the average lies beside what chance gives, and the bottles that are short by more than is allowed."""
    limit = show_ml(average.limit_ml, units)
    if average.average_ml >= 0:
        line = "the average is not short"
    elif average.passes:
        line = f"the average is {show_ml(-average.average_ml, units)} short, no more than chance gives ({limit})"
    else:
        line = f"the average is {show_ml(-average.average_ml, units)} short, more than chance gives ({limit})"
    beyond = "" if average.beyond is None else f"; {counted(average.beyond, 'bottle')} short by more than is allowed"
    return f"{line}{beyond} (NIST Handbook 133)"


def target_lines(found: FillJudged, units: Units) -> Iterator[str]:
    """Yield the mean to set a line to and the rule that asks for so much; nothing where there is no target."""
    target = found.target
    if target is None:
        return
    why = {
        target.by_average: "so that the average is not short",
        target.by_short: "so that no more than 1 bottle in 40 is short by the tolerable error",
        target.by_never: "so that hardly any bottle is short by twice the tolerable error",
    }
    yield f"set the line to a mean of {show_ml(target.ml, units)} or more, {why[target.ml]}"


def _lot_lines(found: FillJudged, units: Units) -> Iterator[str]:
    if (lot := found.inspected) is not None:
        yield (
            f"an inspector's plan for {found.asked.lot} bottles: {lot.lot}; mean {lot.mean_check} (at least "
            f"{show_ml(lot.mean_limit_ml, units)}), count {lot.count_check} ({lot.short} short, "
            f"{lot.far_short} by twice)"
        )
    if found.accepted:
        parts = (
            f"{show(Quantity.PERCENT, 100 * share, units)} short {show(Quantity.PERCENT, 100 * chance, units)}"
            for share, chance in found.accepted
        )
        yield f"its count lets a lot pass, by the share that is short: {', '.join(parts)} of the time"


def _period_lines(found: FillJudged, units: Units) -> Iterator[str]:
    means = found.asked.averages_ml
    if not means:
        return
    off = show(Quantity.PERCENT, average_off_percent(means, found.asked.nominal_ml), units, digits=2)
    verdict = {True: "near enough", False: "too far", None: "too few periods to judge"}[found.is_within]
    yield f"the averages of {counted(len(means), 'period')} lie {off} from {found.asked.nominal_ml:g} mL: {verdict}"


def fill_row(found: FillJudged) -> dict[str, object]:
    """Return what was found as scripts read it: volumes in mL, chances and shares [1]."""
    sample, each, target, average, lot = found.sample, found.each, found.target, found.average, found.inspected
    row: dict[str, object] = {
        "profile": found.profile,
        "nominal_ml": found.asked.nominal_ml,
        "volumes_ml": list(found.asked.volumes_ml),
        "mean_ml": sample and sample.mean_ml,
        "spread_ml": sample.s_ml if sample else found.asked.spread_ml,
        "tolerable_error_ml": found.error_ml,
        "short": None if found.error_ml is None else found.short,
        "each_low_ml": each and float(each.low_ml),
        "each_high_ml": each and float(each.high_ml),
        "outside_ml": None if each is None else list(each.outside),
        "target_ml": target and target.ml,
        "average_short_limit_ml": average and average.limit_ml,
        "average_passes": None if average is None else average.passes,
        "lot": None if lot is None else {"lot": lot.lot, "mean": lot.mean_check, "count": lot.count_check},
        "accepted": [{"share_short": share, "chance": chance} for share, chance in found.accepted],
        "averages_within": found.is_within,
        "not_known": found.gap or None,
    }
    return row
