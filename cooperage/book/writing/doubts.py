"""What is possible but more likely an error: litres written off unseen, liquids unlike each other, readings far off.

Each function raises `Implausible`, which the person answers; what is not known is never asked about. Where no source is
named, the distances are common practice and decide only what is asked back, never what is written.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from cooperage.book.cellar import Standing
from cooperage.book.declared.properties import Property
from cooperage.book.errors import Implausible, OddLevel
from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Lot, Vessel
from cooperage.units import Quantity, show

REST_SHARE, REST_ML = 0.03, 10_000
"""A rest above this share of what was there, or these millilitres, whichever is less, is not written off unasked."""
SUGAR_GAP_G_L, STRENGTH_GAP = 20.0, 2.0
_CLASS_GAP = 0.5  # % vol: two readings of one mead on either side of a class line are no two classes
_HOLDS_IT = 0.05
"""A lot of which a vessel holds at least this share is no stranger in it."""
_MOSTLY = 0.5
_GAIN_SHARE, _GAIN_ML = 0.02, 2_000
_EMPTY_WORDS = frozenset({"mead", "lot", "batch", "the", "and", "with"})


BandOf = Callable[[str], tuple[float, float] | None]
"""Returns the band in which a figure of an act's vessel is expected just before it, by the property's name."""


class CellarFacts(Protocol):
    """What must be known of the cellar to compare two meads."""

    @property
    def lots(self) -> Mapping[str, Lot]:
        """Every lot by its id."""

    @property
    def class_lines(self) -> Sequence[float]:
        """Strengths at which a class changes [% vol]."""


def ask_all(*questions: Callable[[], None]) -> None:
    """Ask all questions at once, so that one yes never answers a question that was not shown."""
    asked = []
    for question in questions:
        try:
            question()
        except Implausible as doubt:
            asked.append(doubt)
    if len(asked) == 1:
        raise asked[0]
    if asked:
        kind = OddLevel if any(isinstance(doubt, OddLevel) for doubt in asked) else Implausible
        figures = {name: each for doubt in asked for name, each in doubt.figures.items()}
        raise kind(" ".join(_sentence(doubt.wording) for doubt in asked), **figures)


def _sentence(wording: str) -> str:
    return wording if wording.endswith((".", "?")) else f"{wording}."


USUAL_CAPACITIES_ML = {
    "barrel": (5_000, 1_200_000),
    "tank": (50_000, 200_000_000),
    "keg": (2_000, 200_000),
    "demijohn": (1_000, 60_000),
}
"""From the smallest to the largest that are usual of each kind."""


def ask_of_capacity(vessel: Vessel) -> None:
    """Ask back a capacity that no vessel of its kind usually has: a bare number may be meant in another unit."""
    low, high = USUAL_CAPACITIES_ML[vessel.kind]
    if not low <= vessel.capacity_ml <= high:
        raise Implausible(
            f"{literal(vessel.tag)} would hold {{holds}}, where a {vessel.kind} holds {{low}} to {{high}}. Is the unit "
            "right?",
            holds=vessel.capacity_ml,
            low=low,
            high=high,
        )


LOT_COST_MOST = 100.0
"""A litre of a lot seldom costs more than this [the cellar's currency]."""
_MOST_TIMES_BEFORE = 3
"""A sum up to so many times the one before it is not asked about, however much it is: that one was accepted."""


def ask_of_money(what: str, sum_: float, per: str, most: float, before: float | None = None) -> None:
    """Ask back a sum [the cellar's currency] above both what is usual of its kind and thrice the one `before` it."""
    limit = max(most, _MOST_TIMES_BEFORE * (before or 0.0))
    if sum_ > limit:
        raise Implausible(
            f"{literal(what)} would cost {{sum_}} a {literal(per)}; more than {{limit}} is unusual. Is the sum right?",
            sum_=(Quantity.MONEY, sum_),
            limit=(Quantity.MONEY, limit),
        )


def ask_of_rest(vessel: Vessel, there: int, rest: int, place: str) -> None:
    """Ask back a rest [ml] that would be written off because the vessel is given as empty."""
    if rest > min(REST_SHARE * there, REST_ML):
        raise Implausible(
            f"{literal(vessel.tag)} held {{there}}; {{rest}} of it are not accounted for and would be written off as "
            f"'{place}'. Is the vessel really empty?",
            there=there,
            rest=rest,
        )


def ask_of_gain(vessel: Vessel, there: int, found: int) -> None:
    """Ask back a dip or a count that finds much more than the book has [ml]."""
    gain = found - there
    if gain > max(_GAIN_SHARE * vessel.capacity_ml, _GAIN_ML):
        raise OddLevel(
            f"{literal(vessel.tag)} holds {{there}} in the book and {{found}} was found, {{gain}} more. "
            "Is something missing in the book?",
            there=there,
            found=found,
            gain=gain,
        )


def ask_of_quarantine(source: tuple[Vessel, VesselState] | None, destination: tuple[Vessel, VesselState]) -> None:
    """Ask back mead that would be in quarantine where it goes: out of a vessel that is, or into one.

    `source` is None where the mead comes from outside, or from vessels of which none is in quarantine.
    """
    into, there = destination
    if source is not None and source[1].is_quarantined:
        raise Implausible(
            f"{literal(source[0].tag)} is in quarantine, and so would be what it gives to {literal(into.tag)}. Move it "
            "there?"
        )
    if there.is_quarantined:
        raise Implausible(f"{literal(into.tag)} is in quarantine, and so would be what goes into it. Put it there?")


# --- liquids that meet ----------------------------------------------------------------------------------------------


def ask_if_unlike(
    source: tuple[Vessel, VesselState], destination: tuple[Vessel, VesselState], ml: int, ground: CellarFacts
) -> None:
    """Ask back `ml` of a mead that would meet one unlike it in kind, sweetness or strength; a lot is like itself."""
    (vessel, state), (into, there) = source, destination
    differences = unlike(state.contents, there.contents, ml, ground)
    if differences:
        raise Implausible(
            f"{literal(vessel.tag)} holds {literal(_show_mead(state.contents, ground))} and {literal(into.tag)} holds "
            f"{literal(_show_mead(there.contents, ground))}: they differ in {' and '.join(differences)}. Mix them?"
        )


def unlike(mead: Contents, other: Contents, ml: int, ground: CellarFacts) -> list[str]:
    """List in what two meads differ, `ml` of the first going to the other.

    The list is empty where a mead is empty, or the first is of a lot that the other holds.
    """
    if mead.ml == 0 or other.ml == 0 or _is_at_home(mead, other):
        return []
    differences = ["kind"] if _is_other_kind(mead, other, ground.lots) else []
    sugar, strength = (_both(mead, other, name) for name in ("sugar_g_l", "abv"))
    if sugar is not None and abs(sugar[0] - sugar[1]) > SUGAR_GAP_G_L:
        differences.append("sweetness")
    if strength is not None and _is_other_strength(*strength, ml / (ml + other.ml), ground.class_lines):
        differences.append("strength")
    return differences


def _is_at_home(mead: Contents, other: Contents) -> bool:
    """Return True if at least half of a mead is of lots that the other holds too."""
    known = _shares(other)
    return sum(share for lot, share in _shares(mead).items() if known.get(lot, 0.0) >= _HOLDS_IT) >= _MOSTLY


def _shares(mead: Contents) -> dict[str, float]:
    whole = sum(mead.origins.values())
    return {origin: ml / whole for origin, ml in mead.origins.items()} if whole else {}


def _both(mead: Contents, other: Contents, name: str) -> tuple[float, float] | None:
    mine, theirs = mead.value(PLACE_OF[name]), other.value(PLACE_OF[name])
    return None if mine is None or theirs is None else (mine, theirs)


def _is_other_strength(mine: float, theirs: float, share: float, lines: Sequence[float]) -> bool:
    """Return True if two strengths differ much, or a share of the first would carry the other across a class line."""
    gap, mixed = abs(mine - theirs), share * mine + (1 - share) * theirs
    crosses = any(min(mixed, theirs) <= line < max(mixed, theirs) for line in lines)
    return gap > STRENGTH_GAP or (crosses and gap > _CLASS_GAP)


def _is_other_kind(mead: Contents, other: Contents, lots: Mapping[str, Lot]) -> bool:
    """Return True if a mead's main lot is of another kind than each lot that the other holds much of."""
    mine = lots.get(_main(mead))
    theirs = [lots.get(lot) for lot, share in _shares(other).items() if share >= _HOLDS_IT]
    return mine is not None and bool(theirs) and all(lot is not None and _differ(mine, lot) for lot in theirs)


def _main(mead: Contents) -> str:
    return max(sorted(mead.origins), key=lambda origin: mead.origins[origin])


def _differ(lot: Lot, other: Lot) -> bool:
    """Return True if two lots are of other honey, or of the same with other words in their names (cherry, quince)."""
    if not lot.honey or not other.honey:
        return False
    if lot.honey.casefold() != other.honey.casefold():
        return True
    mine, theirs = _words(lot.name), _words(other.name)
    return bool(mine and theirs) and not mine & theirs


def _words(name: str) -> set[str]:
    return set(re.findall(r"[^\W\d_]{3,}", name.casefold())) - _EMPTY_WORDS


def _show_mead(mead: Contents, ground: CellarFacts) -> str:
    """Return a mead in a few words: "HE-24 (heather, 2.1 g/L sugar, 11.8 % vol)".

    Of two meads unlike each other at least one of the three is known.
    """
    main = _main(mead)
    lot = ground.lots.get(main)
    sugar, strength = (mead.value(PLACE_OF[name]) for name in ("sugar_g_l", "abv"))
    about = [
        lot.honey if lot is not None and lot.honey else "",
        "" if sugar is None else f"{show(Quantity.SUGAR, sugar)} sugar",
        "" if strength is None else show(Quantity.STRENGTH, strength),
    ]
    code = main if lot is None else lot.code
    return f"{code} ({', '.join(filter(None, about))})"


# --- readings -------------------------------------------------------------------------------------------------------


def ask_if_empty(vessel: Vessel, state: VesselState) -> None:
    """Ask back a reading of a vessel that is empty in the book; a retired vessel is refused elsewhere."""
    if state.ml == 0 and state.retired_at is None:
        raise Implausible(f"{literal(vessel.tag)} is empty in the book. Does the reading belong to it?")


_MOST_TIMES_USUAL = 10
"""An uncertainty of more than so many ordinary ones is no uncertainty of an instrument."""


def ask_of_spread(vessel: Vessel, read: Property, value: float, uncertainty: float) -> None:
    """Ask back an uncertainty, in the property's unit, that no instrument has: a slipped decimal, or another figure."""
    times = uncertainty / read.uncertainty
    if times > _MOST_TIMES_USUAL:
        raise Implausible(
            f"{read.label} {{value}} of {literal(vessel.tag)} is said to be {times:.0f} times as uncertain as an "
            "ordinary reading. Is the uncertainty right?",
            value=(read.quantity, value),
        )


def ask_if_far(
    vessel: Vessel, state: VesselState, reading: tuple[Property, float], at: datetime, band_of: BandOf | None = None
) -> None:
    """Ask back a reading that is implausibly far from both the calculated figure and the last one measured.

    One that is merely odd beside them is asked back if it is far from the band in which it was expected.
    """
    read, value = reading
    if read.far is None or state.ml == 0:
        return
    figure = Standing(vessel, state, at, {}).figure(read.name)
    if figure.value is None:
        return
    days = figure.days_ago or 0.0
    is_fermenting = not vessel.is_barrel and (
        (value - figure.value) * read.far.ferments > 0 or (read.far.ferments != 0 and figure.days_ago is None)
    )
    last = state.reads[read.name].value if read.name in state.reads else figure.value
    lowest, highest = min(figure.value, last), max(figure.value, last)
    least = lowest - read.far.fall - read.far.fall_a_day * days
    if not is_fermenting and not least <= value <= highest + read.far.rise:
        raise _far(vessel, reading, f"{{had}} ({literal(figure.source)})", had=figure.value)
    if read.far.odd is None or read.far.odd[0] * lowest <= value <= read.far.odd[1] * highest:
        return
    band = None if band_of is None else band_of(read.name)
    if band is not None and not _agrees(value, band):
        raise _far(vessel, reading, "the {low} to {high} expected now", low=band[0], high=band[1])


def _far(vessel: Vessel, reading: tuple[Property, float], beside: str, **figures: float) -> Implausible:
    read, value = reading
    return Implausible(
        f"{read.label} {{value}} of {literal(vessel.tag)} is far from {beside}. Is the reading right?",
        value=(read.quantity, value),
        **{name: (read.quantity, figure) for name, figure in figures.items()},
    )


def _agrees(value: float, band: tuple[float, float]) -> bool:
    """Return True if a reading is near a band: no farther than it is wide, not under half its low end, and not zero."""
    low, high = band
    wide = high - low
    return value > 0 and max(low - wide, low / 2) <= value <= high + wide


def literal(text: str) -> str:
    """Return text that stands in a wording as it is: braces there name volumes."""
    return text.replace("{", "{{").replace("}", "}}")
