"""The words of acts that are not in the book yet: as one is announced at its vessel, and as one is wanted of some.

What is in the book has its words in `words.py`; these begin there, so that a field of a new kind appears here too.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from cooperage.book.cellar import Cellar
from cooperage.book.declared import acts
from cooperage.book.declared.act import Act
from cooperage.book.declared.looks import SOUND_SMELL
from cooperage.book.declared.properties import property_named
from cooperage.book.declared.substances import substance_named, treatment_named
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.book.words import entry_words, not_yet
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, show, show_exact, show_short


def wanted_words(kind: str, said: Mapping[str, Any], tags: str | None, units: Units = DEFAULT) -> str:
    """Return what is wanted of some vessels, by their tags: "fill B-001..B-004: from T-1"."""
    return entry_words(not_yet(kind, said, tags), units)


def act_words(act: Act, cellar: Cellar, units: Units = DEFAULT) -> str:
    """Return what writing an act at its vessel would do, with its note: "top 1.1 L from K-05 to the bung".

    What a dip comes to is worked out from the cellar.
    """
    return _with_note(act, _bare(act, cellar, units))


def _with_note(act: Act, words: str) -> str:
    if isinstance(act, acts.Treat) and act.treatment == "taste" and act.note:
        return f"{words}: {act.note}"
    return f"{words} “{act.note}”".lstrip() if act.note else words


def _bare(act: Act, cellar: Cellar, units: Units) -> str:
    match act:
        case acts.Top(volume=ml, source=keg, not_full=is_short):
            return f"top {show_exact(ml, units)} from {keg} {'not to the bung' if is_short else 'to the bung'}"
        case acts.Gauge(headspace=mm) if mm is not None:
            return f"dip {show(Quantity.LENGTH, mm, units)}" + _found(act, mm, cellar, units)
        case acts.Reading(property=name, value=value):
            read = property_named(name)
            return f"{read.label} {show_short(read.quantity, value, units)}"
        case acts.Addition(substance=name, amount=amount):
            added = substance_named(name)
            return f"add {_amount(added.quantity, amount, units)} of {added.label}"
        case acts.Treat(treatment=name):
            return "tasted" if name == "taste" else treatment_named(name).label
        case acts.Look():
            return ", ".join(_look(act)) or "note"
        case acts.Climate(room=room, temperature=celsius, humidity=humidity):
            return f"air of {room} {show_short(Quantity.TEMPERATURE, celsius, units)}, " + show_short(
                Quantity.PERCENT, humidity, units
            )
        case acts.LotCost(lot=lot, cost_per_l=cost):
            return f"{lot} has cost {show(Quantity.MONEY, cost, units)} by the litre"
        case acts.LotEnd(lot=lot):
            return f"{lot} has finished fermenting"
        case _:
            return act.label


def _look(look: acts.Look) -> Iterator[str]:
    if look.level:
        yield f"seen {look.level}"
    if look.bung:
        yield f"bung {look.bung}"
    if look.smell:
        yield "smells sound" if look.smell == SOUND_SMELL else f"smells of {look.smell}"


def _amount(quantity: Quantity, amount: float, units: Units) -> str:
    return show_exact(round(amount), units) if quantity is Quantity.VOLUME else show_short(quantity, amount, units)


def _found(dip: acts.Gauge, mm: float, cellar: Cellar, units: Units) -> str:
    """Return what a dip comes to, and how far that is from the book; nothing where the book will refuse it."""
    if dip.vessel not in cellar:
        return ""
    standing = cellar[dip.vessel]
    try:
        ml = volume_at_headspace(standing.vessel, mm)
    except BadInput:
        return ""
    gap = standing.ml - ml
    beside = f"{show(Quantity.VOLUME, abs(gap), units)} {'under' if gap > 0 else 'over'} the book"
    return f" = {show(Quantity.VOLUME, ml, units)}, {beside if gap else 'as in the book'}"
