"""Windows of readiness in cellars whose ripening is known: whether they hold, and how many looks they save.

Run with `python -m tests.benchmarks.bench_ready [CELLARS] [FIRST SEED] [KIND OF WORLD]`; kinds are numbered from 0.

First, what was foreseen from the past of each cellar: how often the intervals of the first ready week held it, how far
chances were off, and a proper score. Then a year and a half of pulling: looks when the forecast asks for them and pulls
in the week it calls best, against a look every so many weeks, against a taster who puts a line through the last two
looks. Who knew the curves would look once a barrel, and be no week off.
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from cooperage.programme.ready.chances import NEVER
from cooperage.programme.ready.forecasting import CellarCurves, Foreseen
from cooperage.programme.ready.looks import WEEKS, PanelLook
from tests.benchmarks.ready_world import KINDS, Kind, Ripening, RipeningWorld, at, weeks_ready

LEARNED_UNTIL, LONGEST = 100, 78
EIGHT, SELDOM = 8, 14
USUAL = KINDS["usual"]


@dataclass
class Windows:
    """What came of foreseen windows: by interval whether it held, its width; the chances of each week and what came."""

    held: dict[float, list[bool]] = field(default_factory=lambda: {0.5: [], 0.8: []})
    widths: dict[float, list[int]] = field(default_factory=lambda: {0.5: [], 0.8: []})
    chances: list[float] = field(default_factory=list)
    came: list[bool] = field(default_factory=list)

    def add(self, foreseen: Foreseen, truth: Sequence[bool]) -> None:
        """Hold one forecast against what is so in truth, week by week."""
        assert foreseen.ahead is not None
        onset = next((week for week, is_ready in enumerate(truth) if is_ready), NEVER)
        for share, (low, high) in zip(self.held, foreseen.ahead.becomes, strict=True):
            self.held[share].append(low <= onset <= high)
            self.widths[share].append(high - low)
        self.chances += foreseen.ahead.chance
        self.came += list(truth)

    def coverage(self, share: float) -> float:
        """Return how often the intervals of a probability held the first ready week."""
        return float(np.mean(self.held[share]))

    def brier(self) -> float:
        """Return the mean squared error of chances (Brier (1950), Mon. Weather Rev. 78, 1-3)."""
        return float(np.mean((np.array(self.chances) - np.array(self.came)) ** 2))


def no_figure(name: str, days: float) -> None:
    """Return no figure of the book: the worlds have none."""


def windows_of(seeds: Sequence[int], kind: Kind = USUAL) -> Windows:
    """Return what came of the windows that were foreseen in some worlds, of all barrels then filled."""
    found = Windows()
    for seed in seeds:
        world = RipeningWorld(seed, kind=kind)
        curves = CellarCurves(world.history(LEARNED_UNTIL, np.random.default_rng(seed)))
        for fill in world.standing(LEARNED_UNTIL):
            foreseen = curves.foresee(fill.cask, at(LEARNED_UNTIL), kind.wanted, no_figure)
            found.add(foreseen, list(weeks_ready(fill, LEARNED_UNTIL, WEEKS + 1)))
    return found


@dataclass
class Pulls:
    """What one way of looking came to: looks, weeks pulled before or after the window, litres too late, misses."""

    looks: int = 0
    barrels: int = 0
    early: list[int] = field(default_factory=list)
    late: list[int] = field(default_factory=list)
    litres_late: float = 0.0

    @property
    def weeks_off(self) -> float:
        """Mean weeks off the window, of every barrel that had one."""
        return (sum(self.early) + sum(self.late)) / max(1, self.barrels)


Decides = Callable[[Ripening, int, list[PanelLook]], tuple[bool, int]]
"""Whether to pull a barrel now, and else after how many weeks to look again."""


def pull(world: RipeningWorld, seed: int, make: Callable[[list[PanelLook]], Decides]) -> Pulls:
    """Let a cellar be looked at and pulled by one way of deciding; the panels' errors are the same for each week."""
    looks = world.history(LEARNED_UNTIL, np.random.default_rng(seed))
    decide, found = make(looks), Pulls()
    due: dict[str, int] = {}
    fills = {fill.cask.tag: fill for fill in world.standing(LEARNED_UNTIL)}
    windows = {tag: np.flatnonzero(weeks_ready(fill, LEARNED_UNTIL, LONGEST)) for tag, fill in fills.items()}
    fills = {tag: fill for tag, fill in fills.items() if len(windows[tag]) and windows[tag][0] > 0}
    found.barrels = len(fills)
    for week in range(LONGEST):
        now = LEARNED_UNTIL + week
        chosen = [fill for tag, fill in fills.items() if due.get(tag, week if week else -1) <= week]
        if week == 0:
            for tag, fill in fills.items():
                _, due[tag] = decide(fill, now, looks)
            continue
        if not chosen:
            continue
        looks += world.taste(chosen, now, np.random.default_rng((seed, week)))
        found.looks += len(chosen)
        for fill in chosen:
            tag = fill.cask.tag
            is_pulled, weeks = decide(fill, now, looks)
            due[tag] = week + max(1, weeks)
            if is_pulled:
                _count(found, fill, windows[tag], week)
                del fills[tag]
    for tag, fill in fills.items():
        _count(found, fill, windows[tag], LONGEST)
    return found


def _count(found: Pulls, fill: Ripening, window: "np.ndarray[tuple[int], np.dtype[np.int_]]", week: int) -> None:
    off = int(np.abs(window - week).min())
    if off and week < window[0]:
        found.early.append(off)
    elif off:
        found.late.append(off)
        found.litres_late += fill.cask.capacity_ml / 1000


def by_forecast(looks: list[PanelLook]) -> Decides:
    """Look when the forecast asks for it, and pull once waiting is not worth another look."""
    known: dict[int, CellarCurves] = {}

    def curves(now: int, looks: list[PanelLook]) -> CellarCurves:
        if now not in known:
            before = known[max(known)] if known else None
            known[now] = CellarCurves(looks, before)
        return known[now]

    def decide(fill: Ripening, now: int, looks: list[PanelLook]) -> tuple[bool, int]:
        ahead = curves(now, looks).foresee(fill.cask, at(now), fill.wanted, no_figure).ahead
        assert ahead is not None
        return ahead.pull == 0, max(1, round(ahead.look))

    return decide


def _last(fill: Ripening, looks: list[PanelLook]) -> dict[str, list[PanelLook]]:
    own: dict[str, list[PanelLook]] = {limit.name: [] for limit in fill.wanted.limits}
    for look in looks:
        if look.cask.stay == fill.cask.stay and look.attribute in own:
            own[look.attribute].append(look)
    return own


def every_eight_weeks(looks: list[PanelLook]) -> Decides:
    """Look every eight weeks, and pull once the scores meet the limits."""

    def decide(fill: Ripening, now: int, looks: list[PanelLook]) -> tuple[bool, int]:
        own = _last(fill, looks)
        meets = all(own[limit.name] and limit.holds(own[limit.name][-1].value) for limit in fill.wanted.limits)
        return meets and own["oak"][-1].at == at(now), EIGHT

    return decide


def seldom(looks: list[PanelLook]) -> Decides:
    """Look as seldom as the forecast does about, and pull once the scores meet the limits."""
    scores = every_eight_weeks(looks)
    return lambda fill, now, looks: (scores(fill, now, looks)[0], SELDOM)


def by_memory(looks: list[PanelLook]) -> Decides:
    """Put a line through the last two looks at what is farthest from its limit, and look again when it meets it."""

    def decide(fill: Ripening, now: int, looks: list[PanelLook]) -> tuple[bool, int]:
        pulled, _ = every_eight_weeks(looks)(fill, now, looks)
        own, weeks = _last(fill, looks), [float(EIGHT)]
        for limit in fill.wanted.limits:
            seen = own[limit.name][-2:]
            if len(seen) == 2 and not limit.holds(seen[1].value):
                slope = (seen[1].value - seen[0].value) / ((seen[1].at - seen[0].at).days / 7)
                gap = limit.value - seen[1].value
                weeks.append(gap / slope if slope * gap > 0 else 26.0)
        return pulled, int(min(max(weeks[1:] or weeks), 26.0))

    return decide


def forecast_looks(looks: list[PanelLook]) -> Decides:
    """Look when the forecast asks for it, and pull once the scores meet the limits."""
    ahead, scores = by_forecast(looks), every_eight_weeks(looks)
    return lambda fill, now, looks: (scores(fill, now, looks)[0], ahead(fill, now, looks)[1])


def forecast_pulls(looks: list[PanelLook]) -> Decides:
    """Look every eight weeks, and pull when the forecast would."""
    ahead = by_forecast(looks)
    return lambda fill, now, looks: (ahead(fill, now, looks)[0], EIGHT)


WAYS: dict[str, Callable[[list[PanelLook]], Decides]] = {
    "forecast": by_forecast,
    "forecast, by scores": forecast_looks,
    "eight, by forecast": forecast_pulls,
    "every eight weeks": every_eight_weeks,
    f"every {SELDOM} weeks": seldom,
    "taster's memory": by_memory,
}


def pulls_of(seeds: Sequence[int], kind: Kind = USUAL) -> dict[str, Pulls]:
    """Return what each way of looking came to, summed over some worlds."""
    found = {name: Pulls() for name in WAYS}
    for seed in seeds:
        for name, make in WAYS.items():
            own, all_of = pull(RipeningWorld(seed, kind=kind), seed, make), found[name]
            all_of.looks += own.looks
            all_of.barrels += own.barrels
            all_of.early += own.early
            all_of.late += own.late
            all_of.litres_late += own.litres_late
    return found


def main() -> None:
    """Print both tables."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    number = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    seeds, (name, kind) = range(first, first + count), list(KINDS.items())[number]
    found = windows_of(seeds, kind)
    print(f"{name}: {count} cellars of 24 barrels, forecasts {len(found.held[0.5])}")
    for share in found.held:
        width = float(np.mean(found.widths[share]))
        print(
            f"  first ready week in its {share:.0%} interval: {found.coverage(share):.0%}, mean width {width:.1f} weeks"
        )
    chances, came = np.array(found.chances), np.array(found.came)
    print(f"  Brier score {found.brier():.3f}, of the mean share {float(came.mean() * (1 - came.mean())):.3f}")
    for low in np.arange(0, 1, 0.2):
        there = (chances >= low) & (chances < low + 0.2 + 1e-9)
        print(f"  chance {low:.0%} to {low + 0.2:.0%}: came {came[there].mean():.0%} of {there.sum()}")
    print(f"{'way of looking':20}{'barrels':>9}{'looks':>7}{'weeks off':>11}{'early':>7}{'late':>6}{'L late':>9}")
    for way, own in pulls_of(seeds, kind).items():
        off = f"{own.weeks_off:11.2f}{len(own.early):7}{len(own.late):6}{own.litres_late:9.0f}"
        print(f"{way:20}{own.barrels:9}{own.looks:7}{off}")


if __name__ == "__main__":
    main()
