"""Barrels by the book: their past, what to do with them, what became of them, what to buy, which lot goes where."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Barrel, Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchLot, NoSuchVessel
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.page.marks import page_of
from cooperage.programme.search.marks import marks_of
from cooperage.programme.search.measures import measure_all
from cooperage.programme.today.aside import aside_of
from cooperage.programme.wood.advice import WoodVerdict
from cooperage.programme.wood.history import histories
from cooperage.programme.wood.left import effects_now
from cooperage.programme.wood.need import need_of_year
from cooperage.programme.wood.pairs import (
    LotInBarrel,
    LotWaiting,
    NoEmptyBarrel,
    NotALotWaiting,
    in_parts,
    lot_waiting,
    lots_waiting,
    pair_up,
)
from cooperage.programme.wood.retired import retirement_of
from cooperage.programme.wood.scored import wood_scores
from cooperage.programme.wood.standings import WoodStanding, candidates, wood_standings
from cooperage.programme.wood.suits import Wish
from cooperage.programme.wood.words import left_line, need_lines
from cooperage.tasting.flights import reveal, score, start_flight

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def a_book(fresh_sqlite: Callable[[], Book]) -> Book:
    """Barrels of every past, empty but B-1: 900 L of HEATHER in T-1, B-1 filled."""
    made = fresh_sqlite()
    with made.writing() as session:
        for tag, fills, cost in (("B-5", 6, 90.0), ("B-6", 1, 300.0)):
            wood = Barrel(wood="oak", past_kind="wine", past_life="red wine", fills_before=fills, cost=cost)
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", ("Low", "B", fills, 1), barrel=wood))
    made.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    made.write(acts.Fill(vessel="B-1", source="T-1"))
    return made


def clock_of(book: Book) -> "Clock":
    clock: Any = book.now
    return clock  # type: ignore[no-any-return] # the test's own


def wood_of(book: Book) -> dict[str, WoodStanding]:
    return {each.tag: each for each in wood_standings(book)}


def test_the_past_of_a_barrel_by_hand(a_book: Book) -> None:
    """100 days at 225 L, 2 L lost, 50 days more, emptied: litre-days, what it lost and what that had cost."""
    clock = clock_of(a_book)
    clock.pass_days(100)
    a_book.write(acts.Gauge(vessel="B-1", volume=223_000, cause="evaporated"))
    clock.pass_days(50)
    a_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    a_book.write(acts.Look(vessel="B-1", smell="vinegar"))
    a_book.write(acts.Treat(vessel="B-1", treatment="repair"))
    past = histories(a_book, cellar_now(a_book))["B-1"]
    (fill,) = past.fills
    assert fill.days(0.0) == pytest.approx(150, abs=0.01)
    assert past.litre_days == pytest.approx(225 * 100 + 223 * 50, abs=1)
    assert past.lost.cost == pytest.approx(12.0)
    assert (past.lost.ml, past.lost.unpriced_ml) == (2000, 0)
    assert (past.faults.sour, past.faults.taint, past.faults.repairs) == (1, 0, 1)


def test_an_open_fill_goes_on_by_itself(a_book: Book) -> None:
    """Nothing is written, and days and litre-days grow; a struck look counts no more."""
    clock = clock_of(a_book)
    first = histories(a_book, cellar_now(a_book))["B-1"]
    clock.pass_days(10)
    later = histories(a_book, cellar_now(a_book))["B-1"]
    assert later.litre_days - first.litre_days == pytest.approx(2250, abs=1)
    smelled = a_book.write(acts.Look(vessel="B-1", smell="mould"))
    assert histories(a_book, cellar_now(a_book))["B-1"].faults.taint == 1
    a_book.write(acts.Strike(entry=smelled.id))
    assert histories(a_book, cellar_now(a_book))["B-1"].faults.taint == 0


def test_each_verdict_has_its_reason(a_book: Book) -> None:
    """Neutral, small and neutral, sour, tainted, of unknown past, and sound."""
    for tag, smell in (("B-6", "vinegar"), ("B-2", "mould")):
        a_book.write(acts.Look(vessel=tag, smell=smell))
    found = wood_of(a_book)
    verdicts = {tag: each.advice.verdict for tag, each in found.items()}
    assert verdicts == {
        "B-1": WoodVerdict.KEEP, "B-2": WoodVerdict.RETIRE, "B-3": WoodVerdict.KEEP, "B-4": WoodVerdict.KEEP,
        "B-5": WoodVerdict.NEUTRAL, "B-6": WoodVerdict.SOUR,
    }  # fmt: skip
    assert found["B-5"].advice.why == ("fill 6: neutral wood, about 0 % left",)
    assert found["B-3"].advice.sure is None
    assert found["B-3"].effect is None
    assert found["B-6"].advice.used_l == pytest.approx(225 * 0.6)
    assert found["B-6"].advice.let_go_cost == 300.0
    assert found["B-2"].advice.let_go_cost is None
    assert [each.rank for each in wood_standings(a_book)] == [6, 5, 4, 3, 2, 1]
    assert next(iter(wood_standings(a_book))).tag == "B-2"


def test_a_small_neutral_barrel_is_to_be_sold(a_book: Book) -> None:
    wood = Barrel(past_kind="wine", fills_before=6)
    with a_book.writing() as session:
        session.add_vessel(Vessel("", "B-7", "barrel", 30_000, barrel=wood))
    assert wood_of(a_book)["B-7"].advice.verdict is WoodVerdict.SELL


def test_one_truth_for_every_door(a_book: Book) -> None:
    """The list, the candidates for retirement and the first page name the same neutral barrels."""
    cellar = cellar_now(a_book)
    neutral = {tag for tag, each in wood_of(a_book).items() if each.is_neutral}
    assert neutral == {"B-5"}
    assert set(aside_of(a_book, cellar, loss_rates(a_book, cellar)).neutral) == neutral
    assert {each.barrel for each in candidates(a_book) if any("neutral" in why for why in each.why)} == neutral


def test_retired_it_is_written_off_and_struck_it_is_back(a_book: Book) -> None:
    """300 of its price are left and 45 received: 255 written off. Struck, all is as it was."""
    before = effects_now(a_book, cellar_now(a_book))
    done = a_book.write(acts.Retire(vessel="B-6", reason="split", disposition="sold", received=45.0))
    cellar = cellar_now(a_book)
    found = retirement_of(a_book, cellar, "b-6")
    assert found is not None
    assert (found.barrel, found.disposition, found.received) == ("B-6", "sold", 45.0)
    assert (found.book_value, found.written_off) == (300.0, 255.0)
    assert "B-6" not in wood_of(a_book)
    a_book.write(acts.Strike(entry=done.id))
    assert retirement_of(a_book, cellar_now(a_book), "B-6") is None
    assert effects_now(a_book, cellar_now(a_book)).keys() == before.keys()
    with pytest.raises(NoSuchVessel):
        retirement_of(a_book, cellar_now(a_book), "B-99")


def test_without_a_price_nothing_is_known_to_be_written_off(a_book: Book) -> None:
    a_book.write(acts.Retire(vessel="B-2", reason="split"))
    found = retirement_of(a_book, cellar_now(a_book), "B-2")
    assert found is not None
    assert found.book_value is found.written_off is found.received is None


def test_what_to_buy_replaces_what_drops_out(a_book: Book) -> None:
    """Barrels, chances and budgets add up; a kind whose price is unknown has no budget, never a budget of nothing."""
    cellar = cellar_now(a_book)
    wood = wood_standings(a_book, cellar)
    need = need_of_year(a_book, cellar, wood)
    assert sum(each.there for each in need.kinds) == len(wood)
    assert need.neutral == sum(each.neutral for each in need.kinds) == sum(each.is_neutral for each in wood) > 0
    assert "1 barrel neutral already: not replaced, for neutral use" in need_lines(need)
    for each in need.kinds:
        assert 0 <= each.drop_out.low <= each.drop_out.value <= each.drop_out.high <= each.there
        assert abs(each.buy - each.drop_out.value) <= 0.5
        assert each.drop_out.high <= each.there - each.neutral
        assert (each.price is None) == (each.budget is None)
        if each.price is not None and each.budget is not None:
            assert each.budget.value == pytest.approx(each.buy * each.price.value)
    assert need.budget.value == pytest.approx(sum(each.budget.value for each in need.kinds if each.budget))
    assert (need.waiting_ml, need.empty_ml) == (675_000, 225_000 + 200_000 + 50_000 + 2 * 225_000)
    assert need.without_room_ml == 0


def pairs_of(book: Book, *texts: str, same_room: bool = False) -> list[LotInBarrel]:
    cellar = cellar_now(book)
    rates = loss_rates(book, cellar)
    lots = [lot_waiting(text, cellar) for text in texts]
    return pair_up(lots, wood_standings(book, cellar, rates), cellar, rates, same_room=same_room)


def into(pairs: list[LotInBarrel]) -> list[str]:
    return ["waits" if pair.barrel is None else pair.barrel.tag for pair in pairs]


@pytest.mark.parametrize(
    ("text", "barrel"),
    [("HEATHER=225L/wood", "B-2"), ("HEATHER=225L/neutral", "B-5"), ("HEATHER=200L/spirit", "B-3"),
     ("HEATHER=50L", "B-4"), ("HEATHER=225 L", "B-5")],
)  # fmt: skip
def test_a_lot_gets_what_it_wants(a_book: Book, text: str, barrel: str) -> None:
    """New wood, neutral wood, spirit, its own size; and one that asks for nothing spends no wood."""
    (pair,) = pairs_of(a_book, text)
    assert into([pair]) == [barrel]
    assert pair.gives_up_l == pytest.approx(0)
    assert pair.if_not_l is not None
    assert pair.if_not_l > 0
    assert pair.costs_l == pytest.approx(sum(cost.litres for cost in pair.costs))


def test_a_sour_barrel_is_for_what_is_sour_and_a_tainted_one_for_nothing(a_book: Book) -> None:
    a_book.write(acts.Look(vessel="B-5", smell="vinegar"))
    for tag in ("B-2", "B-6"):
        a_book.write(acts.Look(vessel=tag, smell="mould"))
    assert into(pairs_of(a_book, "HEATHER=225L/sour")) == ["B-5"]
    assert into(pairs_of(a_book, "HEATHER=225L")) != ["B-5"]
    assert not {"B-2", "B-6"} & set(into(pairs_of(a_book, *["HEATHER=225L"] * 5)))


def test_a_barrel_in_quarantine_gets_no_lot(a_book: Book) -> None:
    a_book.write(acts.Judge(vessel="B-2", verdict="quarantine"))
    assert into(pairs_of(a_book, "HEATHER=225L/wood")) == ["B-6"]


def test_what_finds_no_barrel_waits(a_book: Book) -> None:
    """900 L are four parts of 225 L, and two lots of it are more than there are barrels; none is used twice."""
    found = into(pairs_of(a_book, "HEATHER=900L", "LIME=900L"))
    placed = [tag for tag in found if tag != "waits"]
    assert len(placed) == len(set(placed)) <= 5
    assert "waits" in found


def test_in_one_room(a_book: Book) -> None:
    """Without the rule the second part goes to the loft."""
    pairs = pairs_of(a_book, "HEATHER=425L", same_room=True)
    rooms = {pair.barrel.standing.position[0] for pair in pairs if pair.barrel is not None}
    assert len(rooms) == 1
    assert len(pairs) == 2


def test_a_sulphured_barrel_has_its_caution(a_book: Book) -> None:
    """What goes in drives the gas out."""
    a_book.write(acts.Treat(vessel="B-2", treatment="so2 gas"))
    (pair,) = pairs_of(a_book, "HEATHER=225L/wood")
    assert "sulphured barrel" in {each.danger for each in pair.cautions}


@pytest.mark.parametrize("text", ["HEATHER", "=5L", "HEATHER=", "HEATHER=0L"])
def test_what_is_no_lot_with_litres_is_refused(a_book: Book, text: str) -> None:
    with pytest.raises(NotALotWaiting, match="write HE-25=450L"):
        lot_waiting(text, cellar_now(a_book))


def test_an_unknown_lot_wish_or_volume_is_refused(a_book: Book) -> None:
    cellar = cellar_now(a_book)
    with pytest.raises(NoSuchLot):
        lot_waiting("NONE=5L", cellar)
    for text, words in (("HEATHER=5L/oaky", "any, wood, neutral"), ("HEATHER=much", "much")):
        with pytest.raises(BadInput, match=words):
            lot_waiting(text, cellar)
    assert lot_waiting("heather=1.5 hl/ wood", cellar) == LotWaiting("HEATHER", 150_000, Wish.WOOD)


def test_lots_in_tanks_wait_and_their_parts_are_all_of_them(a_book: Book) -> None:
    """To the millilitre; where no barrel is empty there is nothing to give them."""
    cellar = cellar_now(a_book)
    lots = lots_waiting(cellar)
    assert lots == [LotWaiting("HEATHER", 675_000)]
    wood = wood_standings(a_book, cellar)
    odd = [LotWaiting("HEATHER", 675_001)]
    assert sum(part.ml for part in in_parts(odd, wood)) == 675_001
    full = [each for each in wood if each.standing.ml]
    with pytest.raises(NoEmptyBarrel):
        pair_up(lots, full, cellar, {})


def test_scores_of_oak_count_alone(a_book: Book) -> None:
    """Where flights scored oak, on its own scale; overall scores of the same glasses are left out. Blind ones too."""
    clock = clock_of(a_book)
    for tag in ("B-2", "B-5", "B-6"):
        a_book.write(acts.Fill(vessel=tag, source="T-1"))
    clock.pass_days(60)
    tags = ("B-1", "B-2", "B-5", "B-6")
    poured = start_flight(a_book, tags, code="OAK", attributes=["oak"])
    oak = {"B-1": 2.5, "B-2": 9.0, "B-5": 0.5, "B-6": 5.0}
    for taster in ("Ada", "Bo"):
        for glass in poured.glasses:
            score(a_book, "OAK", glass.code, taster, 10.0, marks={"oak": oak[str(glass.vessel)]})
    cellar = cellar_now(a_book)
    assert wood_scores(a_book, cellar, histories(a_book, cellar)) == []
    reveal(a_book, "OAK")
    found = {each.barrel: each for each in wood_scores(a_book, cellar, histories(a_book, cellar))}
    assert {tag: each.score for tag, each in found.items()} == pytest.approx({tag: 10 * oak[tag] for tag in tags})
    assert {tag: each.fill for tag, each in found.items()} == {"B-1": 3, "B-2": 1, "B-5": 7, "B-6": 2}
    assert all(each.days == pytest.approx(60, abs=0.1) for each in found.values())
    left = effects_now(a_book, cellar)
    assert left["B-2"].scores == 1
    assert left["B-2"].percent > left["B-6"].percent > left["B-1"].percent


def test_every_door_shows_the_same_figure(a_book: Book) -> None:
    """The page of a vessel, the racks and the list; nothing for a tank, what is written off for a retired one."""
    a_book.write(acts.Retire(vessel="B-6", reason="split"))
    for tag in ("B-2", "B-3"):
        a_book.write(acts.Fill(vessel=tag, source="T-1"))
    cellar = cellar_now(a_book)
    listed = {each.tag: each for each in wood_standings(a_book, cellar)}
    racks = measure_all(a_book, cellar, marks_of(a_book, cellar))["wood left"]
    effect = listed["B-2"].effect
    assert effect is not None
    assert page_of(a_book, cellar, "B-2").wood == left_line(listed["B-2"])
    assert f"{effect.percent:.0f} % of new wood left" in left_line(listed["B-2"])
    assert racks["B-2"].text == f"{effect.percent:.0f}"
    assert (racks["B-3"].text, racks["T-1"].text) == ("?", "–")
    assert left_line(listed["B-3"]).startswith("wood left ?")
    assert page_of(a_book, cellar, "T-1").wood == ""
    assert page_of(a_book, cellar, "B-6").wood == "300.00 left in the books, ? received: 300.00 written off"
