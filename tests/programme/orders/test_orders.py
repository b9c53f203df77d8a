"""Orders: written beforehand, checked in sequence, done with what really came; nothing is in the book before that."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.book.errors import NoSuchVessel
from cooperage.book.replay.state import to_text
from cooperage.errors import AskedBack, CooperageError
from cooperage.exchange.reports.reports import REPORTS
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.orders.checked import Checked, Verdict, check_orders
from cooperage.programme.orders.doing import do_order, read_changes
from cooperage.programme.orders.kept import kept_orders, open_orders, order_numbered, orders, struck_since
from cooperage.programme.orders.order import NoPlace, NoSuchOrder, NotOpen, NotOrdered, Order, OrderState, WantsAReason
from cooperage.programme.orders.paper import paper_list
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.written import move_order, withdraw, write_order
from cooperage.programme.several.wanted import Wanted, typed_for_one
from cooperage.units import ALWAYS, DEFAULT, Units
from tests.programme.several.conftest import filled
from tests.programme.several.test_together import levels, rows, states, vessels, wishes

DAY = date(2026, 11, 27)


def order(book: Book, kind: str, each: Any = None, /, *, day: date = DAY, **texts: Any) -> Order:
    """Write an order by texts, `from_` standing for from."""
    named = {name.rstrip("_").replace("_", "-"): text for name, text in texts.items()}
    return write_order(book, Wanted(kind, named, each or {}), day)


def found(book: Book) -> dict[int, Checked]:
    return {each.order.number: each for each in check_orders(book)}


def verdicts(book: Book) -> list[str]:
    return [each.verdict.value for each in check_orders(book)]


# --- nothing is in the book -----------------------------------------------------------------------------------------


@pytest.mark.slow
@given(wish=wishes, tags=vessels)
@settings(max_examples=20)
def test_orders_never_change_a_figure(fresh_sqlite: Callable[[], Book], wish: Any, tags: list[str]) -> None:
    """States, figures now, reports and the mark of the cellar are the same, with orders open, checked and withdrawn."""
    book = filled(fresh_sqlite())
    moment = book.now()
    book.now = lambda: moment

    def figures() -> Any:
        cellar = cellar_now(book)
        read = {s.tag: [s.figure(name).value for name in ("abv", "ph", "free_so2_mg_l")] for s in cellar}
        reports = [report(book, ALWAYS, DEFAULT) for report in REPORTS.values()]
        return states(book), book.cellar().mark, read, levels(book), rows(book, 0), reports

    before = figures()
    order(book, wish[0], vessel=",".join(tags), **wish[1])
    check_orders(book)
    withdraw(book, "1", "it was only tried")
    order(book, wish[0], vessel=tags[0], **wish[1])
    assert figures() == before
    assert not any(finding.broken for finding in book.check())


# --- done -----------------------------------------------------------------------------------------------------------


@pytest.mark.slow
@given(wish=wishes, tags=vessels, one=st.booleans())
@settings(max_examples=40)
def test_an_order_done_is_the_act_done(fresh_sqlite: Callable[[], Book], wish: Any, tags: list[str], one: bool) -> None:
    """The same rows but for ids and times, the same levels; or it is refused, nothing is written and it stays open."""
    from cooperage.programme.several.written import write_several
    from tests.programme.several.conftest import meant

    book, other = filled(fresh_sqlite()), filled(fresh_sqlite())
    named = tags[0] if one else ",".join(tags)
    order(book, wish[0], vessel=named, **wish[1])
    count, before = len(rows(book, 0)), states(book)
    checked = check_orders(book)[0]
    try:
        done = do_order(book, "1", {"sure": "yes"})
    except CooperageError:
        assert states(book) == before
        assert len(rows(book, 0)) == count
        assert order_numbered(book, "1").state is OrderState.OPEN
        assert checked.verdict is not Verdict.ASKED
        return
    assert checked.verdict is not Verdict.IMPOSSIBLE
    assert done.differences == ()
    assert list(done.order.entries) == [each.id for each in done.written]
    if one and wish[0] == "top" and "volume" not in wish[1]:
        return  # alone, a topping is written only with its figure
    write_several(other, meant(other, wish[0], vessel=named, sure="yes", **wish[1]), sure=True)
    assert rows(book, count) == rows(other, count)
    assert levels(book) == levels(other)


def test_what_is_not_asked_back_by_the_check_is_not_asked_when_it_is_done(small: Book) -> None:
    """And what is, is: a mead that would meet one unlike it."""
    small.write(acts.Receive(lot="LIME", vessel="T-2", volume=100_000))
    order(small, "rack", vessel="B-1", to="T-2")
    order(small, "fill", vessel="B-2", from_="T-1")
    assert verdicts(small) == ["asked back", "possible"]
    with pytest.raises(AskedBack, match="Mix them"):
        do_order(small, "1")
    assert order_numbered(small, "1").state is OrderState.OPEN
    do_order(small, "2")
    do_order(small, "1", {"sure": "yes"})
    assert open_orders(small) == []


def test_what_came_is_written_and_the_difference_shown(cellar_book: Book) -> None:
    """On both databases: the entry holds what came, in the units of who did it."""
    order(cellar_book, "rack", vessel="B-1", to="T-2")
    done = do_order(cellar_book, "1", {"volume": "58.5", "lees": "0.5"}, units=Units(volume="gal"))
    assert done.differences == (
        "B-1: ordered 59.44 gal, 58.50 gal came",
        "B-1: lees: ordered none, done with 0.50 gal",
    )
    assert cellar_book.cellar()["T-2"].ml == round(58.5 * 3785.411784)
    assert order_numbered(cellar_book, " 1 ").entries == (done.written[0].id,)
    with pytest.raises(NotOpen, match="order 1 is done already"):
        do_order(cellar_book, "1")


def test_each_difference_is_named_by_its_vessel(small: Book) -> None:
    """A figure, a field, a vessel left out and one that came instead."""
    order(small, "fill", typed_for_one("fill", "B-3=20 L"), vessel="B-2..B-4", from_="T-1")
    done = do_order(small, "1", {"vessel": "B-2,B-3"}, {"b-3": {"volume": "18 L"}})
    assert done.differences == ("B-4: ordered, not done", "B-3: ordered 20.0 L, 18.0 L came")
    order(small, "shift", vessel="B-1", room="Loft", row="C")
    assert do_order(small, "2", {"row": "D"}).differences == ("B-1: row: ordered C, done with D",)
    order(small, "addition", vessel="B-1", substance="bentonite", amount="40 g")
    assert do_order(small, "3", {"amount": "38"}).differences == ("B-1: amount: ordered 40.0 g, done with 38.0 g",)


def test_a_dose_by_volume_is_worked_out_when_it_is_done(small: Book) -> None:
    """By what is there then; and what was added in its place is the difference."""
    order(small, "addition", vessel="B-1,T-1", substance="bentonite", amount="20 g/hL")
    small.write(acts.Rack(vessel="B-1", destination="T-2", volume=25_000))
    done = do_order(small, "1", {}, {"T-1": {"amount": "100"}})
    assert [each.act.amount for each in done.written] == [40.0, 100.0]  # type: ignore[attr-defined]
    assert done.differences == ("T-1: amount: ordered 127.0 g, done with 100.0 g",)


def test_nothing_is_written_where_one_vessel_is_refused(small: Book) -> None:
    """The order stays open, and what was typed is named."""
    before = states(small)
    order(small, "fill", vessel="B-2,B-4", from_="T-1")
    with pytest.raises(CooperageError, match="B-4 has room for"):
        do_order(small, "1", {"sure": "yes"}, {"B-4": {"volume": "51 L"}})
    assert states(small) == before
    assert [each.number for each in open_orders(small)] == [1]


def test_a_figure_that_is_known_when_it_is_done(small: Book) -> None:
    """Is wanted then, and not before."""
    order(small, "reading", vessel="B-1,T-1", property="ph")
    assert found(small)[1].verdict is Verdict.POSSIBLE
    with pytest.raises(BadField, match="value: is needed"):
        do_order(small, "1")
    done = do_order(small, "1", {"value": "3.4"}, {"T-1": {"value": "3.5"}})
    assert [each.act.value for each in done.written] == [3.4, 3.5]  # type: ignore[attr-defined]


# --- checked --------------------------------------------------------------------------------------------------------


def test_orders_are_checked_in_their_sequence(small: Book) -> None:
    """By day, then as they were written: what one fills, the next can draw on."""
    order(small, "rack", vessel="T-2", to="B-4", volume="10 L")
    order(small, "rack", vessel="B-1", to="T-2", day=date(2026, 11, 26))
    assert [each.number for each in open_orders(small)] == [2, 1]
    assert verdicts(small) == ["possible", "possible"]
    withdraw(small, "2", "the tank is not clean")
    assert verdicts(small) == ["impossible"]


def test_a_check_leaves_the_states_that_were_read_as_they_were(small: Book) -> None:
    """They are shared with whoever looks at the cellar; what is tried is tried on copies."""
    order(small, "rack", vessel="B-1", to="T-2", volume="10 L")
    order(small, "reading", vessel="T-2", property="ph", value="3.4")
    before = {standing.tag: standing.state for standing in small.cellar()}
    texts = {tag: to_text(state) for tag, state in before.items()}
    assert set(verdicts(small)) == {"possible"}
    after = {standing.tag: standing.state for standing in small.cellar()}
    assert all(after[tag] is before[tag] for tag in before)
    assert {tag: to_text(state) for tag, state in after.items()} == texts


def test_an_impossible_order_names_the_one_before_it_that_takes_the_room(small: Book) -> None:
    """The latest one with which it became impossible; none where the cellar itself stands in the way."""
    order(small, "fill", vessel="B-4", from_="T-1")
    order(small, "sample", vessel="B-1", volume="100 ml")
    order(small, "fill", vessel="B-4", from_="K-1", volume="5 L")
    order(small, "fill", vessel="B-1", from_="K-1", volume="5 L")
    checked = found(small)
    assert checked[3].verdict is Verdict.IMPOSSIBLE
    assert checked[3].because_of == checked[1].order
    assert checked[3].why == "B-4 has room for 0.0 L; 5.0 L would run over, after order 1 (fill B-4 from T-1)"
    assert checked[4].because_of is None
    assert checked[4].why == "B-1 has room for 0.1 L; 5.0 L would run over"


def test_an_impossible_order_is_passed_over_for_those_after_it(small: Book) -> None:
    """Half of it too: an order over several vessels leaves nothing behind."""
    order(small, "fill", vessel="B-2,B-4", from_="K-1", volume="30 L")
    order(small, "fill", vessel="B-2", from_="K-1", volume="40 L")
    assert verdicts(small) == ["impossible", "possible"]
    assert found(small)[1].why == "B-4: K-1 holds 10.0 L; 30.0 L cannot come out of it"


def test_nothing_is_done_to_what_is_retired_by_then(small: Book) -> None:
    """The order that retires it is named."""
    order(small, "retire", vessel="B-3", reason="split")
    order(small, "reading", vessel="B-3", property="temperature_c")
    order(small, "treat", vessel="B-3", treatment="rinse")
    checked = found(small)
    assert [checked[number].because_of for number in (2, 3)] == [checked[1].order] * 2
    small.write(acts.Retire(vessel="B-3", reason="split"))
    assert "was retired" in found(small)[3].why


def test_two_bottlings_have_two_codes(small: Book) -> None:
    """The second order of one code is impossible."""
    order(small, "bottle", vessel="B-1", code="NIGHT", bottles="10")
    order(small, "bottle", vessel="T-1", code="NIGHT", bottles="10")
    assert verdicts(small) == ["possible", "impossible"]
    assert found(small)[2].because_of == order_numbered(small, "1")


@pytest.mark.slow
@given(runs=st.lists(st.tuples(wishes, vessels), min_size=1, max_size=6))
@settings(max_examples=30)
def test_what_the_check_finds_is_what_happens(fresh_sqlite: Callable[[], Book], runs: Any) -> None:
    """Done in their sequence, those that are possible are done unasked, and those that are impossible refused."""
    book = filled(fresh_sqlite())
    for wish, tags in runs:
        order(book, wish[0], vessel=",".join(tags[:2]), **wish[1])
    for each in check_orders(book):
        number = str(each.order.number)
        if each.verdict is Verdict.IMPOSSIBLE:
            with pytest.raises(CooperageError):
                do_order(book, number, {"sure": "yes"})
        else:
            done = do_order(book, number, {"sure": "yes" if each.verdict is Verdict.ASKED else ""})
            assert [one.moves for one in done.written] == [one.moves for one in (each.written or {}).values()]


# --- what is no order -----------------------------------------------------------------------------------------------


def test_a_bad_order_is_one_line_and_is_not_written(small: Book) -> None:
    """Unknown vessels, kinds that are not ordered, fields that are needed."""
    for kind, texts, error in (
        ("fill", {"vessel": "B-9", "from_": "T-1"}, NoSuchVessel),
        ("fill", {"vessel": "B-2", "from_": "T-9"}, NoSuchVessel),
        ("rack", {"vessel": "B-1", "to": "T-1,T-9"}, NoSuchVessel),
        ("strike", {"entry": "last"}, NotOrdered),
        ("climate", {"room": "Loft", "temperature": "12", "humidity": "70"}, NotOrdered),
        ("fill", {"vessel": "B-2"}, BadField),
        ("fill", {"vessel": "B-2", "from_": "T-1", "volume": "much"}, BadField),
    ):
        with pytest.raises(error):
            order(small, kind, **dict[str, Any](texts))
    assert orders(small) == []


def test_an_order_is_withdrawn_with_its_reason_once(cellar_book: Book) -> None:
    """On both databases."""
    order(cellar_book, "treat", vessel="B-1", treatment="stir")
    with pytest.raises(WantsAReason):
        withdraw(cellar_book, "1", "  ")
    assert withdraw(cellar_book, "#1", "it is too cold").why == "it is too cold"
    with pytest.raises(NotOpen, match="withdrawn already"):
        withdraw(cellar_book, "1", "again")
    for number in ("2", "x", ""):
        with pytest.raises(NoSuchOrder):
            withdraw(cellar_book, number, "why")
    assert [each.state for each in orders(cellar_book)] == [OrderState.WITHDRAWN]


def test_changes_are_fields_or_vessels(small: Book) -> None:
    """What is neither is answered with the nearest."""
    wanted = order(small, "fill", vessel="B-2,B-4", from_="T-1")
    assert read_changes(wanted, ["from=K-1", "b-4=5 L"]) == ({"from": "K-1"}, {"b-4": {"volume": "5 L"}})
    with pytest.raises(BadField, match="did you mean volume"):
        read_changes(wanted, ["volum=5"])
    with pytest.raises(BadField, match="FIELD=VALUE"):
        read_changes(wanted, ["5 L"])


def test_vessels_are_those_that_were_found_when_it_was_written(small: Book) -> None:
    """Words and series are written out; a bare figure is what it was in the writer's units."""
    texts = {"vessel": "room loft", "from": "T-1", "volume": "5"}
    write_order(small, Wanted("fill", texts), DAY, units=Units(volume="gal"), note="gently")
    [kept] = orders(small)
    assert dict(kept.texts) == {"vessel": "B-3,B-4", "from": "T-1", "volume": "18.927 L"}
    assert order_words(kept, note=True) == "fill B-3, B-4 with 18.9 L each from T-1; “gently”"


@pytest.mark.parametrize(
    ("kind", "texts", "words"),
    [
        ("reading", {"vessel": "B-1", "property": "ph"}, "measure pH of B-1"),
        ("treat", {"vessel": "B-1", "treatment": "sniff"}, "treat B-1: sniff"),
        (
            "addition",
            {"vessel": "B-1,B-2", "substance": "honey", "amount": "1 g/L"},
            "add 1 g/L of honey to B-1, B-2",
        ),
        ("bottle", {"vessel": "B-1", "code": "X"}, "bottle B-1 as X"),
        ("rack", {"vessel": "B-1", "to": "B-2..B-4", "lees": "1 L"}, "rack B-1 to B-2..B-4, lees 1.0 L"),
        ("look", {"vessel": "B-1", "bung": "weeping"}, "look at B-1, bung weeping"),
        ("reading", {"vessel": "B-1", "property": "ph", "value": "3.4"}, "measure pH of B-1, pH 3.40"),
        ("shift", {"vessel": "B-1", "room": "Low", "row": "C"}, "move B-1 to Low, row C"),
        ("retire", {"vessel": "B-1", "reason": "staves spent"}, "retire B-1: staves spent"),
    ],
)
def test_an_order_is_put_into_words(small: Book, kind: str, texts: Any, words: str) -> None:
    """As a hand would read it, before anything is done."""
    assert order_words(order(small, kind, **texts)) == words


def test_the_paper_has_boxes_figures_and_what_to_mind(small: Book) -> None:
    """A box a vessel, what is expected, room for what came; what stands in the way."""
    order(small, "fill", vessel="B-2,B-4", from_="T-1")
    order(small, "addition", vessel="B-1", substance="metabisulphite", amount="8 g")
    order(small, "fill", vessel="B-4", from_="K-1")
    lines = paper_list(small, check_orders(small))
    text = "\n".join(lines)
    assert max(map(len, lines)) <= 96
    assert text.count("[ ]") == 5
    assert "[ ] B-2          225.0 L   came: ____" in text
    assert "NOT POSSIBLE: " in text
    assert "Mind: Sulphur dioxide" in text
    assert paper_list(small, [])[-1] == "no order is open"


# --- several, struck, moved -----------------------------------------------------------------------------------------


def test_a_rate_for_one_vessel_is_shown_as_it_was_typed(small: Book) -> None:
    """It is worked out when the order is done, by what is in that vessel then."""
    written = order(small, "addition", {"K-1": {"amount": "2 g/L"}}, vessel="K-1", substance="honey")
    assert order_words(written) == "add honey to K-1; K-1 2 g/L"
    assert [(each.verdict, each.why) for each in check_orders(small)] == [(Verdict.POSSIBLE, "")]


def test_a_vessel_is_left_out_when_an_order_is_done(small: Book) -> None:
    """What was ordered for it alone is dropped with it, and the difference is told."""
    order(small, "fill", {"B-3": {"volume": "20 L"}}, vessel="B-2,B-3", from_="T-1")
    done = do_order(small, "1", {"vessel": "B-2"})
    assert [entry.act.vessel for entry in done.written if isinstance(entry.act, acts.Fill)] == ["B-2"]
    assert done.differences == ("B-3: ordered, not done",)


def test_an_order_is_open_again_once_all_of_it_is_struck(small: Book) -> None:
    """Struck in part it stays done, and says so; open again it can be done or withdrawn, and is exported as it was."""
    order(small, "fill", vessel="B-2,B-3", from_="T-1")
    done = do_order(small, "1")
    small.write(acts.Strike(entry=done.written[0].id))
    assert open_orders(small) == []
    assert struck_since(small, orders(small)) == {1}
    small.write(acts.Strike(entry=done.written[1].id))
    [again] = open_orders(small)
    assert order_words(again, note=True).endswith("; done before, and struck")
    assert verdicts(small) == ["possible"]
    with small.reading() as connection:
        assert [each.state for each in kept_orders(connection)] == [OrderState.DONE]
    second = do_order(small, "1")
    assert second.order.entries == tuple(each.id for each in second.written)
    assert open_orders(small) == []
    with pytest.raises(NotOpen):
        do_order(small, "1")


@given(moves=st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5), st.booleans()), max_size=6))
@settings(max_examples=30)
def test_an_order_moved_stands_beside_the_other(fresh_sqlite: Callable[[], Book], moves: list[Any]) -> None:
    """On that one's day; the others keep their sequence."""
    book = filled(fresh_sqlite())
    for nth in range(5):
        order(book, "treat", day=date(2026, 11, 27 + nth // 3), vessel="B-1", treatment="stir")
    for number, other, is_after in moves:
        before = [each.number for each in open_orders(book)]
        ends = {"after" if is_after else "before": str(other)}
        if number == other:
            with pytest.raises(NoPlace):
                move_order(book, str(number), **ends)
            continue
        moved = move_order(book, str(number), **ends)
        now = [each.number for each in open_orders(book)]
        assert now.index(number) - now.index(other) == (1 if is_after else -1)
        assert [each for each in now if each != number] == [each for each in before if each != number]
        assert moved.day == order_numbered(book, str(other)).day
