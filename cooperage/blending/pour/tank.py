"""From a solved blend to the tank: one entry, refused if the cellar has changed since the solve."""

import json
from collections import Counter
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from cooperage import __version__
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import Dosing, read_brief
from cooperage.blending.stocks.dosing import amount_to_pour
from cooperage.book import Book, Cellar
from cooperage.book.dangers.dangers import Caution, by_danger, cautions
from cooperage.book.dangers.work import Work, work_of
from cooperage.book.declared import acts
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.errors import InVolumes
from cooperage.errors import Refused
from cooperage.plaintext import json_escaped
from cooperage.units import DEFAULT, Quantity, Units, show

if TYPE_CHECKING:
    from cooperage.book import Written


class NothingToPour(Refused):
    """An answer without draws."""

    def __init__(self, status: str) -> None:
        self.status = status
        super().__init__(f"there is no plan to pour (the brief was {status}); change the brief and solve again")


class StockChanged(InVolumes):
    """A stock holds something else than when the blend was solved: `there` now, `solved` then."""

    wording = "{tag} holds {there} now and held {solved} when the blend was solved; solve it again"


@dataclass(frozen=True, slots=True)
class Pour:
    """One solved blend on its way into a vessel, with the brief it was solved for."""

    answer: Answer
    into: str
    brief: Mapping[str, Any]
    note: str = ""


def draws_in_ml(
    answer: Answer, cellar: Cellar, dosing: Container[str] = (), taken: Mapping[str, int] | None = None
) -> tuple[tuple[str, int], ...]:
    """Return the plan's draws in whole millilitres, none more than is there; raises NothingToPour, StockChanged.

    `taken` is what pours before this one take of each stock [ml].
    """
    if not answer.draws:
        raise NothingToPour(answer.status)
    draws = []
    for draw in (draw for draw in answer.draws if draw.stock not in dosing):
        there = cellar[draw.stock].ml - (taken or {}).get(draw.stock, 0)
        solved = there if draw.left_l is None else round(1000 * (draw.litres + draw.left_l))
        if abs(there - solved) > 1:
            raise StockChanged(draw.stock, there=there, solved=solved)
        draws.append((draw.stock, min(there, round(1000 * draw.litres))))
    return tuple((stock, ml) for stock, ml in draws if ml > 0)


def doses_of(answer: Answer, dosing: Mapping[str, Dosing]) -> tuple[tuple[str, float], ...]:
    """Return the plan's doses in the book's units; raises CannotBePoured for one of another make than the book's."""
    return tuple(
        (draw.stock, round(amount_to_pour(draw.stock, draw.litres, dosing[draw.stock]), 3))
        for draw in answer.draws
        if draw.stock in dosing
    )


def pour(
    book: Book,
    answer: Answer,
    into: str,
    brief: Mapping[str, Any],
    *,
    hand: str = "",
    note: str = "",
    sure: bool = False,
) -> "Written":
    """Write a solved blend into the book: every draw and dose, and the contraction, in one entry with brief and plan.

    Raises NothingToPour, StockChanged, CannotBePoured and whatever the book refuses.
    """
    return pour_all(book, [Pour(answer, into, brief, note)], hand=hand, sure=sure)[0]


def pour_all(
    book: Book,
    pours: Sequence[Pour],
    *,
    hand: str = "",
    at: datetime | None = None,
    sure: bool = False,
    also: Callable[[], None] = lambda: None,
) -> list["Written"]:
    """Write blends that were solved together, one entry each and all of them or none; raises as `pour`.

    `at` is when it was done (None: now); `also` is done once the book has taken them and before they hold.
    """
    blends = [replace(each, at=at) for each in blends_of(pours, book.cellar(), hand=hand, sure=sure)]
    with book.writing() as session:
        written = [session.write(blend) for blend in blends]
        also()
    return written


def blends_of(pours: Sequence[Pour], cellar: Cellar, *, hand: str = "", sure: bool = False) -> list[acts.Blend]:
    """Return the entries that pours come to; raises NothingToPour, StockChanged, CannotBePoured."""
    taken = Counter[str]()
    blends = []
    for each in pours:
        dosing = read_brief(each.brief).dosing
        draws = draws_in_ml(each.answer, cellar, dosing, taken)
        taken.update(dict(draws))
        kept = {"brief": dict(each.brief), "answer": each.answer.to_json(), "cooperage": __version__}
        plan = json_escaped(json.dumps(kept, ensure_ascii=False, sort_keys=True))
        doses = doses_of(each.answer, dosing)
        blend = acts.Blend(vessel=each.into, draws=draws, doses=doses, plan=plan, hand=hand, note=each.note, sure=sure)
        blends.append(blend)
    return blends


def pour_cautions(pours: Sequence[Pour], cellar: Cellar, units: Units = DEFAULT) -> tuple[Caution, ...]:
    """Return what to mind before blends are poured, and at what they leave behind; raises as `blends_of`."""
    return by_danger(each for blend in blends_of(pours, cellar) for each in cautions(work_of(blend, cellar, units)))


def plan_cautions(
    plans: Iterable[tuple[Answer, Mapping[str, Any]]], cellar: Cellar | None, units: Units = DEFAULT
) -> tuple[Caution, ...]:
    """Return what to mind in plans that have no vessel to go into yet; without a cellar only their doses are known."""
    return by_danger(each for answer, brief in plans for each in cautions(_planned(answer, brief, cellar, units)))


def _planned(answer: Answer, brief: Mapping[str, Any], cellar: Cellar | None, units: Units) -> Work:
    dosing = read_brief(brief).dosing
    drawn = tuple(
        (cellar[draw.stock], round(1000 * draw.litres))
        for draw in answer.draws
        if cellar is not None and draw.stock not in dosing and draw.stock in cellar
    )
    doses = tuple(draw.stock for draw in answer.draws if draw.stock in dosing)
    return Work("blend", substances=doses, drawn=drawn, sweetens="honey" in doses, units=units)


def pour_words(written: "Written", before: Cellar, after: Cellar, units: Units = DEFAULT) -> list[str]:
    """Return what the pour left behind: barrels now empty, barrels left partly full, and the recheck."""
    if not isinstance(written.act, acts.Blend):
        return []
    words = []
    heel = _heel_ml(written.act)
    for tag, _ in written.act.draws:
        standing = after[tag]
        if 0 < standing.ml <= heel:
            words.append(f"{tag} holds only its heel: pour it away, record that and rinse today; refill or retire it")
        elif standing.ml == 0:
            words.append(f"{tag} is empty: rinse it today; refill, sulphur or retire it")
        elif standing.ml < before[tag].ml and standing.vessel.is_barrel:
            air = show(Quantity.VOLUME, standing.headspace_ml, units)
            words.append(f"{tag} is partly full ({air} of air): top it, gas it or rack it together today")
    words += [f"mix {SUBSTANCES[name].label} in well before anything is read" for name, _ in written.act.doses]
    return [*words, "read strength, sugar, pH and free SO2 of the blend again in 24 to 72 hours"]


def _heel_ml(blend: acts.Blend) -> int:
    """Return what the brief left behind in every stock [ml]."""
    return round(1000 * read_brief(json.loads(blend.plan)["brief"]).draws.heel_l) if blend.plan else 0
