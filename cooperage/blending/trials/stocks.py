"""What a trial blends, from texts such as "B-003", "HE-24=20-60" and "B-007=max 40", and the limits of its blends."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.brief.figures import figure_name
from cooperage.blending.brief.values import Bound
from cooperage.blending.trials.trial import FEWEST_STOCKS, MOST_STOCKS, TrialStock
from cooperage.blending.typed_brief import parse_span
from cooperage.book import Cellar, Standing
from cooperage.book.declared.properties import SOLVABLE, canonical_property
from cooperage.errors import BadInput, Refused, choose_from, did_you_mean
from cooperage.units import DEFAULT, Units

HOW_BOUNDS_ARE_TYPED = "B-003=20-60, B-003=max 40 or B-003=min 10, in per cent of the blend"


class NotATrialStock(BadInput):
    """A stock or its bounds that no trial can be made of."""


class NothingInStock(Refused):
    """A vessel of a trial that gives nothing: empty, retired or in quarantine."""

    def __init__(self, tag: str, why: str) -> None:
        self.tag = tag
        super().__init__(f"{tag} {why}, so that no glass can be made of it; name another")


class FigureUnknown(Refused):
    """A limit on a figure that is not known of a stock."""

    def __init__(self, stock: str, name: str) -> None:
        self.stock, self.figure = stock, name
        super().__init__(
            f"the {figure_name(name)} of {stock} is not known, so that no limit can be kept; measure it first"
        )


@dataclass(frozen=True, slots=True)
class GivenStock:
    """A stock as it was typed: its name, and the bounds of its share, 0 to 1."""

    name: str
    low: float = 0.0
    high: float = 1.0


def parse_stock(text: str, units: Units = DEFAULT) -> GivenStock:
    """Read a stock with its bounds in per cent; raises NotATrialStock."""
    name, equals, span = (part.strip() for part in text.partition("="))
    if not name or (equals and not span):
        raise NotATrialStock(f"'{text}' names no stock and bounds; write {HOW_BOUNDS_ARE_TYPED}")
    if not equals:
        return GivenStock(name)
    try:
        ends = parse_span(name, span.replace("%", ""), units)
    except BadInput as error:
        raise NotATrialStock(f"'{span}' are no bounds; write {HOW_BOUNDS_ARE_TYPED}") from error
    low, high = _ends(ends)
    if not 0 <= low <= high <= 100 or high == 0:
        raise NotATrialStock(
            f"{name} cannot be {span} of a blend; shares lie from 0 to 100 per cent, the lower one first"
        )
    return GivenStock(name, low / 100, high / 100)


def _ends(ends: Mapping[str, float]) -> tuple[float, float]:
    if "target" in ends:
        within = ends.get("within", 0.0)
        return ends["target"] - within, ends["target"] + within
    return ends.get("min", 0.0), ends.get("max", 100.0)


def parse_limits(texts: Iterable[str], units: Units = DEFAULT) -> dict[str, dict[str, float]]:
    """Read limits such as "abv=13.4-13.6" and "sugar=max 60" into those of a brief; raises NotATrialStock."""
    limits = {}
    for text in texts:
        typed, equals, span = (part.strip() for part in text.partition("="))
        name = canonical_property(typed)
        if name not in SOLVABLE:
            raise NotATrialStock(f"no limit can be set on '{typed}'{choose_from(typed, SOLVABLE)}")
        if not equals or not span:
            raise NotATrialStock(f"'{text}' is no limit; write one such as {typed}=max 60")
        limits[name] = parse_span(name, span, units)
    return limits


def asked_of_brief(brief: Mapping[str, Any]) -> tuple[dict[str, dict[str, float]], dict[str, GivenStock]]:
    """Return the limits of a brief, and the bounds that it sets on shares of single stocks, by name."""
    read = read_brief(brief)
    shares = {name: GivenStock(name, max(span.low, 0.0), min(span.high, 1.0)) for name, span in read.share.items()}
    return {name: _as_limit(span) for name, span in read.limits.items()}, shares


def _as_limit(span: Bound) -> dict[str, float]:
    ends = {"min": span.low, "max": span.high}
    return {end: value for end, value in ends.items() if abs(value) != float("inf")}


def spans_of(limits: Mapping[str, Any]) -> dict[str, Bound]:
    """Return the limits of a trial as spans; raises BadBrief."""
    return dict(read_brief({"litres": 1, "limits": limits}).limits) if limits else {}


def find_stocks(
    cellar: Cellar, given: Sequence[GivenStock], limits: Mapping[str, Any] | None = None
) -> tuple[TrialStock, ...]:
    """Find two to six stocks in the cellar, with the figures that limits are on.

    A lot stands for the barrels that hold mostly it, in equal parts. Raises NotATrialStock, NothingInStock,
    FigureUnknown.
    """
    if not FEWEST_STOCKS <= len(given) <= MOST_STOCKS:
        raise NotATrialStock(f"a trial blends {FEWEST_STOCKS} to {MOST_STOCKS} stocks, not {len(given)}; name so many")
    names = list(spans_of(limits or {}))
    found = [_found(cellar, each, names) for each in given]
    vessels = [tag for stock in found for tag in stock.vessels]
    for tag in vessels:
        if vessels.count(tag) > 1:
            raise NotATrialStock(f"{tag} is named twice; name each vessel once, by itself or by its lot")
    return tuple(found)


def _found(cellar: Cellar, given: GivenStock, limited: Sequence[str]) -> TrialStock:
    name, standings = _vessels(cellar, given.name)
    figures = {figure: _figure(name, standings, figure) for figure in limited}
    return TrialStock(name, tuple(each.tag for each in standings), given.low, given.high, figures)


def _vessels(cellar: Cellar, name: str) -> tuple[str, list[Standing]]:
    """Return the name as the book has it, and the vessels that it stands for."""
    if name in cellar:
        standing = cellar[name]
        why = _why_not(standing)
        if why:
            raise NothingInStock(standing.tag, why)
        return standing.tag, [standing]
    lots = {code.upper(): code for code in cellar.lots}
    named = name.split(maxsplit=1)
    code = lots.get(named[-1].upper() if len(named) > 1 and named[0].casefold() == "lot" else name.upper())
    if code is None:
        hint = did_you_mean(name, [*(each.tag for each in cellar), *lots.values()], "; `cooperage barrels` lists them")
        raise NotATrialStock(f"there is no vessel and no lot '{name}'{hint}")
    found = [s for s in cellar.barrels if next(iter(s.lots), None) == code and not _why_not(s)]
    if not found:
        raise NothingInStock(f"lot {code}", "is the largest part of no barrel")
    return code, found


def _why_not(standing: Standing) -> str:
    if standing.is_retired:
        return "is retired"
    return "is empty" if not standing.ml else "is in quarantine" if standing.is_quarantined else ""


def _figure(stock: str, standings: Sequence[Standing], name: str) -> float:
    known = [value for each in standings if (value := each.value(name)) is not None]
    if len(known) < len(standings):
        raise FigureUnknown(stock, name)
    return sum(known) / len(known)


def with_shares(given: Sequence[GivenStock], shares: Mapping[str, GivenStock]) -> list[GivenStock]:
    """Return stocks with a brief's bounds where none were typed."""
    by_name = {name.upper(): each for name, each in shares.items()}
    free = GivenStock("")
    return [
        replace(by_name[each.name.upper()], name=each.name)
        if each.name.upper() in by_name and (each.low, each.high) == (free.low, free.high)
        else each
        for each in given
    ]
