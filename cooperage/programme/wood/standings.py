"""Every barrel's wood as it stands: what is left, what it costs, its faults, and what to do with it, ranked."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from cooperage.book import Book, Cellar, Standing
from cooperage.book.dangers.dangers import Caution, cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.sign import Sign
from cooperage.programme.wood.advice import Advice, AdviceBasis, WoodVerdict, advise
from cooperage.programme.wood.basis import cost_basis
from cooperage.programme.wood.cost import STRAIGHT, BarrelCost, CostBasis, cost_of_barrel
from cooperage.programme.wood.effect import EffectLeft
from cooperage.programme.wood.history import BarrelHistory, histories
from cooperage.programme.wood.left import effects_now, is_neutral
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class WoodStanding:
    """One barrel's wood: what is left of its effect (None unknown), its cost, its past, what to do with it.

    `rank` counts from 1, the barrel most worth keeping, to `of`. `cautions` are what to mind when it is taken out.
    """

    standing: Standing
    effect: EffectLeft | None
    cost: BarrelCost
    past: BarrelHistory
    advice: Advice
    rank: int = 0
    of: int = 0
    cautions: tuple[Caution, ...] = ()

    @property
    def tag(self) -> str:
        """The barrel's tag."""
        return self.standing.tag

    @property
    def is_neutral(self) -> bool:
        """Return True if its wood gives next to nothing any more."""
        return is_neutral(self.effect)


def wood_standings(
    book: Book,
    cellar: Cellar | None = None,
    rates: Mapping[str, LossRate] | None = None,
    units: Units = DEFAULT,
    basis: CostBasis | None = None,
    found: Sequence[Sign] | None = None,
) -> list[WoodStanding]:
    """Return the wood of every barrel of the programme, the most pressing first; reasons are worded in `units`.

    Costs are by the cellar's own `basis` unless another is given.
    """
    cellar = cellar or cellar_now(book)
    basis = cost_basis(book) if basis is None else basis
    rates = loss_rates(book, cellar) if rates is None else rates
    past = histories(book, cellar)
    effects = effects_now(book, cellar, past)
    of_barrel: dict[str, list[Sign]] = defaultdict(list)
    for sign in signs(book, cellar, rates, units) if found is None else found:
        of_barrel[sign.vessel].append(sign)
    standings = [
        _of_one(standing, effects.get(standing.tag), past, rates, of_barrel[standing.tag], basis)
        for standing in cellar.barrels
    ]
    ranked = sorted(standings, key=_pressing)
    return [
        replace(each, rank=len(ranked) - place, of=len(ranked), cautions=_cautions(each.standing, cellar, units))
        for place, each in enumerate(ranked)
    ]


def _of_one(
    standing: Standing,
    effect: EffectLeft | None,
    past: Mapping[str, BarrelHistory],
    rates: Mapping[str, LossRate],
    found: Sequence[Sign],
    basis: CostBasis,
) -> WoodStanding:
    own = past.get(standing.tag, BarrelHistory())
    cost = cost_of(standing, own, basis)
    seen = AdviceBasis(standing, effect, own, cost, rates.get(standing.tag), found)
    return WoodStanding(standing, effect, cost, own, advise(seen))


def cost_of(standing: Standing, past: BarrelHistory, basis: CostBasis = STRAIGHT) -> BarrelCost:
    """Return what a barrel has cost by the time it stands at; by its retirement where it is retired."""
    barrel = standing.vessel.barrel
    price, before = (None, None) if barrel is None else (barrel.cost, barrel.fills_before)
    now = standing.state.retired_at or standing.at.timestamp()
    return cost_of_barrel(price, before, past, now, basis)


def _pressing(each: WoodStanding) -> tuple[int, float, float, str]:
    """Return the order of barrels: by verdict; the surest first, of those to be kept those with least wood left."""
    order = list(WoodVerdict).index(each.advice.verdict)
    left = 50.0 if each.effect is None else each.effect.percent
    is_kept = each.advice.verdict is WoodVerdict.KEEP
    return order, 0.0 if is_kept else -(each.advice.sure or 0.0), left, each.tag


def _cautions(standing: Standing, cellar: Cellar, units: Units) -> tuple[Caution, ...]:
    return cautions(work_of(acts.Retire(vessel=standing.tag, reason=""), cellar, units))


@dataclass(frozen=True, slots=True)
class Candidate:
    """A barrel, what to do with it and why, and what to mind when it is taken out."""

    barrel: str
    fill_number: int | None
    verdict: WoodVerdict
    why: list[str]
    cautions: tuple[Caution, ...] = ()


def candidates(book: Book, units: Units = DEFAULT) -> list[Candidate]:
    """List the barrels that are spent, leak, or have turned, as they are ranked; worded in `units`."""
    return [
        Candidate(each.tag, each.standing.fill_number, each.advice.verdict, list(each.advice.why), each.cautions)
        for each in wood_standings(book, units=units)
        if _is_asked_of(each)
    ]


def _is_asked_of(each: WoodStanding) -> bool:
    kept = each.advice.verdict is WoodVerdict.KEEP
    return not kept or len(each.advice.why) > 1
