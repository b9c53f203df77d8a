"""From an act on a lot to what it means: it moves nothing, and is checked."""

from collections.abc import Callable

from cooperage.book.declared import acts
from cooperage.book.errors import NotPossible
from cooperage.book.store.registry import GRAVITIES, MOST_MONEY
from cooperage.book.writing.doubts import LOT_COST_MOST, ask_of_money
from cooperage.book.writing.draft import Draft, View
from cooperage.units import Quantity


def _lot_cost(act: acts.LotCost, view: View) -> Draft:
    lot = view.lot(act.lot)
    if not 0 <= act.cost_per_l <= MOST_MONEY:
        raise NotPossible("the cost", *((Quantity.MONEY, sum_) for sum_ in (act.cost_per_l, 0.0, MOST_MONEY)))
    if not act.sure:
        ask_of_money(lot.code, act.cost_per_l, "litre", LOT_COST_MOST, lot.cost_per_l)
    return Draft(None)


def _lot_end(act: acts.LotEnd, view: View) -> Draft:
    view.lot(act.lot)
    if act.final_sg is not None and not GRAVITIES[0] <= act.final_sg <= GRAVITIES[1]:
        raise NotPossible("the final gravity", *((Quantity.GRAVITY, sg) for sg in (act.final_sg, *GRAVITIES)))
    return Draft(None)


LOT_PLANS: dict[type[acts.Act], Callable[..., Draft]] = {acts.LotCost: _lot_cost, acts.LotEnd: _lot_end}
"""The plan of every kind of act on a lot."""
