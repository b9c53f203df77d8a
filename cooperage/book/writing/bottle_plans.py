"""From an act on bottles to the rows it means, as `plans.py` does it for mead."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import NoReturn

from cooperage.book.declared import acts
from cooperage.book.declared.places import BottlePlace, Outside
from cooperage.book.declared.spelling import folded
from cooperage.book.errors import FewerRemoved, Implausible, NothingMoved, SameStore, SourceHoldsLess
from cooperage.book.replay.events import Move
from cooperage.book.writing.bottles import Bottled, BottlesCarried
from cooperage.book.writing.doubts import ask_of_quarantine
from cooperage.book.writing.draft import Draft, View
from cooperage.units import counted

_USUALLY_MISSING, _CASES_MISSING = 0.1, 24
"""A larger part of a store's bottles missing at a count is asked back, and so are more than two cases of twelve (common
practice, no source)."""


def _stow(act: acts.Stow, view: View) -> Draft:
    bottled = _bottled(act, view)
    source = view.bottles.store_with(bottled, act.source, act.bottles)
    store = view.bottles.store_named(act.store)
    if store == source:
        raise SameStore(bottled.code, store)
    carried = BottlesCarried(bottled.id, act.bottles, source, store)
    return Draft(None, carried=carried, act=replace(act, code=bottled.code, source=source, store=store))


def _remove(act: acts.Remove, view: View) -> Draft:
    bottled = _bottled(act, view)
    source = view.bottles.store_with(bottled, act.source, act.bottles)
    carried = BottlesCarried(bottled.id, act.bottles, source, act.went, act.party.strip(), act.document.strip())
    return Draft(None, carried=carried, act=replace(act, code=bottled.code, source=source))


def _take_back(act: acts.TakeBack, view: View) -> Draft:
    bottled = _bottled(act, view)
    gone = view.bottles.held(bottled)[act.went]
    if gone < act.bottles:
        raise FewerRemoved(bottled.code, act.went, act.bottles, gone)
    store = view.bottles.store_named(act.store)
    holders = view.bottles.with_whom(bottled, act.went)
    party = next((each for each in holders if folded(each) == folded(act.party)), act.party.strip())
    if not act.sure and holders[party] < act.bottles:
        _ask_of_holder(act, bottled.code, party, holders)
    carried = BottlesCarried(bottled.id, act.bottles, act.went, store, party, act.document.strip())
    return Draft(None, carried=carried, act=replace(act, code=bottled.code, store=store, party=party))


def _ask_of_holder(act: acts.TakeBack, code: str, party: str, holders: Counter[str]) -> NoReturn:
    """Ask back more bottles than are with whoever gives them back; without a name, than are with no one by name."""
    there = counted(max(0, holders[party]), "bottle")
    has = f"{party} has {there} of {code} {act.went}" if party else f"{code} has {there} {act.went} without a name"
    others = [f"{name or 'without a name'} {had}" for name, had in sorted(holders.items()) if had > 0 and name != party]
    whose = f"; who gave them back? {', '.join(others)}" if others else ""
    raise Implausible(_plain(f"{has}, and {act.bottles} came back{whose}"))


def _plain(words: str) -> str:
    """Return words that name no figure, though what was typed in them has braces."""
    return words.replace("{", "{{").replace("}", "}}")


def _stocktake(act: acts.Stocktake, view: View) -> Draft:
    bottled = view.bottles.bottling(act.code)
    store = view.bottles.store_named(act.store)
    there = view.bottles.held(bottled)[store]
    if not act.sure:
        _ask_of_count(act, bottled, there)
    ends = (store, BottlePlace.COUNT.value) if act.bottles < there else (BottlePlace.COUNT.value, store)
    carried = BottlesCarried(bottled.id, abs(there - act.bottles), *ends)
    return Draft(None, carried=carried, act=replace(act, code=bottled.code, store=store))


def _ask_of_count(act: acts.Stocktake, bottled: Bottled, there: int) -> None:
    """Ask back more bottles than the book has there, and more missing than usually are."""
    where = f"in {act.store}" if act.store.strip() else "outside the named stores"
    missing = there - act.bottles
    if missing < 0 or missing > min(_USUALLY_MISSING * there, _CASES_MISSING):
        off = f"{-missing} more" if missing < 0 else f"{missing} missing"
        raise Implausible(
            _plain(f"the book has {there} bottles of {bottled.code} {where}, and {act.bottles} were counted: {off}")
        )


def _pour_back(act: acts.PourBack, view: View) -> Draft:
    bottled, vessel = _bottled(act, view), view.vessel(act.vessel)
    source = view.bottles.store_with(bottled, act.source, act.bottles)
    if not act.sure:
        ask_of_quarantine(None, (vessel, view.state(vessel)))
    ml = act.bottles * bottled.bottle_ml
    if act.loss > ml:
        raise SourceHoldsLess(bottled.code, asked=act.loss, there=ml)
    moves = [Move(Outside.BOTTLED, vessel.id, ml)]
    if act.loss:
        moves.append(Move(vessel.id, Outside.SPILLED, act.loss))
    carried = BottlesCarried(bottled.id, act.bottles, source, BottlePlace.POURED_BACK.value)
    return Draft(vessel, moves, carried=carried, act=replace(act, code=bottled.code, source=source))


def _bottled(act: acts.Stow | acts.Remove | acts.TakeBack | acts.PourBack, view: View) -> Bottled:
    if act.bottles <= 0:
        raise NothingMoved(act.label)
    return view.bottles.bottling(act.code)


BOTTLE_PLANS: dict[type[acts.Act], Callable[..., Draft]] = {
    acts.Stow: _stow,
    acts.Remove: _remove,
    acts.TakeBack: _take_back,
    acts.Stocktake: _stocktake,
    acts.PourBack: _pour_back,
}
"""The plan of every kind of act on bottles."""
