"""Whether brief and pool fit together: names that must exist, and stocks that cannot be considered."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from cooperage.blending.answer.answer import LeftOut
from cooperage.blending.brief.brief import BadBrief, Brief
from cooperage.blending.brief.figures import figure_name
from cooperage.blending.lp.aims import figures_needed, ranks_of, target_of
from cooperage.blending.lp.limits import members_of
from cooperage.blending.stocks.dosing import doses_in
from cooperage.blending.stocks.pool import Flags, Stocks
from cooperage.errors import Refused, did_you_mean

LIQUID_FIGURES = ("abv", "sugar_g_l")
_WHY_UNKNOWN = {"score": ": not in a revealed flight since it was filled, or no glass links all its tasters"}


class StockUnknown(BadBrief):
    """A stock that must be drawn cannot be considered."""


class StockBarred(Refused):
    """A stock that must be drawn is one from which nothing may be drawn, such as a vessel in quarantine."""

    def __init__(self, stock: str, why: str) -> None:
        super().__init__(f"{stock} cannot be drawn: {why}; take it out of what must be drawn, or lift that first")


def fitted(brief: Brief, stocks: Stocks) -> Brief:
    """Return the brief with its mixing decided; raise BadBrief if it names what the pool does not have."""
    missing = [name for name in LIQUID_FIGURES if name not in stocks.figures]
    if brief.mixing == "liquid" and missing:
        raise BadBrief("mixing", f'"liquid" needs {" and ".join(missing)} in the pool; write mixing = "plain" without')
    brief = replace(brief, mixing=brief.mixing or ("plain" if missing else "liquid"))
    for name in brief.limits:
        _check_property(f"limits.{name}", name, stocks)
    _check_objectives(brief, stocks)
    for key in brief.share:
        if not members_of(key, stocks).any():
            raise BadBrief(
                f"share.{key}", f"no stock and no group of the pool is called so{did_you_mean(key, _shared(stocks))}"
            )
    if brief.draws.ready is not None and not stocks.ready:
        raise BadBrief("draws.ready", "the pool does not know when stocks are ready; leave it out")
    for rule in ("must", "never"):
        _check_names(f"draws.{rule}", getattr(brief.draws, rule), stocks)
    return brief


def _check_property(key: str, name: str, stocks: Stocks) -> None:
    if name == "ph":
        raise BadBrief(key, "pH does not average, so no blend can be held to it; measure it in a trial")
    if name not in stocks.figures:
        known = ", ".join(stocks.figures) or "none"
        raise BadBrief(key, f"the pool has no figure {name!r}; it has {known}{did_you_mean(name, stocks.figures)}")


def _check_objectives(brief: Brief, stocks: Stocks) -> None:
    for objective in ranks_of(brief, stocks):
        for name in figures_needed(objective, brief, stocks):
            _check_property(f"objective {objective}", name, stocks)
        if objective.kind == "nearest":
            target_of(objective, brief)
        if objective.kind == "least_leftover" and (np.isinf(stocks.litres) & ~doses_in(brief, stocks)).any():
            raise BadBrief("objective", "least_leftover means nothing with a stock without end in the pool")


def _check_names(key: str, names: Iterable[str], stocks: Stocks) -> None:
    there = set(stocks.names)
    for name in names:
        if name not in there:
            raise BadBrief(key, f"the pool has no stock {name!r}{did_you_mean(name, stocks.names)}")


def _shared(stocks: Stocks) -> Iterator[str]:
    yield from stocks.names
    for column, labels in stocks.labels.items():
        yield from {f"{column}:{label}" for label in labels}


def split_stocks(brief: Brief, stocks: Stocks) -> tuple[Stocks, tuple[LeftOut, ...]]:
    """Return the stocks a solve can consider, and the others with the reason; those under `never` go unmentioned."""
    barred = np.isin(stocks.names, np.array(brief.draws.never, dtype=object)) if brief.draws.never else None
    keep = np.full(len(stocks), True) if barred is None else ~barred
    left_out: list[LeftOut] = []
    for wrong, why in _faults(brief, stocks):
        left_out += [LeftOut(str(name), why) for name in stocks.names[wrong & keep]]
        keep &= ~wrong
    for out in left_out:
        if out.stock in brief.draws.must and out.stock in stocks.barred:
            raise StockBarred(out.stock, out.why)
        if out.stock in brief.draws.must:
            raise StockUnknown("draws.must", f"{out.stock} cannot be drawn: {out.why}")
    return (stocks if keep.all() else stocks.take(keep)), tuple(left_out)


def _faults(brief: Brief, stocks: Stocks) -> Iterator[tuple[Flags, str]]:
    for name, why in stocks.barred.items():
        yield stocks.names == name, why
    if brief.draws.ready is not None:
        for name, chance in stocks.ready.items():
            if not chance >= brief.draws.ready:
                yield stocks.names == name, _not_ready(chance, brief.draws.ready)
    yield np.isnan(stocks.litres), "litres unknown"
    yield (stocks.litres <= 0) & (stocks.heels > 0), "holds no more than its heel"
    yield stocks.litres <= 0, "holds nothing"
    yield stocks.litres < stocks.min_litres, "holds less than its least draw"
    if brief.draws.whole:
        endless = np.isinf(stocks.litres) & ~doses_in(brief, stocks)
        yield endless, "has no end, and whole barrels are asked for"
    for name in _needed(brief, stocks):
        yield np.isnan(stocks.figures[name]), f"{figure_name(name)} unknown{_WHY_UNKNOWN.get(name, '')}"


def _not_ready(chance: float, wanted: float) -> str:
    if math.isnan(chance):
        return "whether it is ready is not known"
    return f"ready with {math.floor(100 * chance)} %, {100 * wanted:.0f} % wanted"  # never as much as is wanted


def _needed(brief: Brief, stocks: Stocks) -> dict[str, None]:
    """Return the figures without which a stock cannot be judged, in the order of the brief."""
    names = [*(LIQUID_FIGURES if brief.mixing == "liquid" else ()), *brief.limits]
    for objective in ranks_of(brief, stocks):
        names += figures_needed(objective, brief, stocks)
    return dict.fromkeys(names)
