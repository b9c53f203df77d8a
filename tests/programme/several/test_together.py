"""Several at once is one by one, or nothing; struck together, everything is as it was."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import AlreadyStruck
from cooperage.book.log import entries
from cooperage.book.replay.latest import LatestStates
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import TOGETHER
from cooperage.errors import CooperageError
from cooperage.programme.several.proposed import Meant
from cooperage.programme.several.written import strike_together, write_several
from cooperage.programme.together import AskedTogether, OneRefused
from cooperage.units import DEFAULT
from tests.examples import tried_on
from tests.programme.several.conftest import filled, meant


def states(book: Book) -> dict[str, str]:
    with book.reading() as connection:
        registry = Registry(connection)
        found, _ = LatestStates().read(connection, registry)
        return {registry.by_id(key).tag: to_text(state) for key, state in found.items()}


def rows(book: Book, since: int) -> list[Any]:
    """Every entry from one on, with what it moved and read, without ids and times."""
    with book.reading() as connection:
        found = entries(connection, in_written_order=True)[since:]
    without = ("id", "happened_at", "written_at", "together", "strikes", "struck_by")
    return [{key: value for key, value in asdict(entry).items() if key not in without} for entry in found]


def levels(book: Book) -> dict[str, Any]:
    return {s.tag: (s.ml, s.lots, s.state.fills, s.position, s.value("abv")) for s in book.cellar()}


WISHES: dict[str, Any] = {
    "fill": st.fixed_dictionaries({"from_": st.sampled_from(["T-1", "K-1"])}, optional={"volume": st.just("9 L")}),
    "rack": st.fixed_dictionaries(
        {"to": st.sampled_from(["T-2", "T-1", "poured away"])}, optional={"lees": st.just("1 L")}
    ),
    "top": st.fixed_dictionaries({"from_": st.just("K-1")}, optional={"volume": st.just("0.4 L")}),
    "addition": st.fixed_dictionaries({"substance": st.just("honey"), "amount": st.sampled_from(["200 g", "1 g/L"])}),
    "reading": st.fixed_dictionaries({"property": st.just("abv"), "value": st.sampled_from(["13", "12.4"])}),
    "treat": st.fixed_dictionaries({"treatment": st.sampled_from(["stir", "rinse"])}),
    "sample": st.fixed_dictionaries({"volume": st.just("0.2 L")}),
    "shift": st.fixed_dictionaries({"room": st.just("Low")}, optional={"row": st.just("C")}),
}
wishes = st.sampled_from(sorted(WISHES)).flatmap(lambda kind: st.tuples(st.just(kind), WISHES[kind]))
vessels = st.lists(st.sampled_from(["B-1", "B-2", "B-3", "B-4", "K-1", "T-1"]), min_size=2, max_size=5, unique=True)


@pytest.mark.slow
@given(wish=wishes, tags=vessels, sure=st.booleans())
@tried_on(60)
def test_several_at_once_are_one_by_one_or_nothing(
    fresh_sqlite: Callable[[], Book], wish: Any, tags: list[str], sure: bool
) -> None:
    """The same rows but for ids and times, the same levels; refused or asked back, nothing at all."""
    one, other = filled(fresh_sqlite()), filled(fresh_sqlite())
    before, count = states(one), len(rows(one, 0))
    try:
        wanted = meant(one, wish[0], vessel=",".join(tags), sure="yes" if sure else "", **wish[1])
        written = write_several(one, wanted, sure=sure)
    except CooperageError:
        assert states(one) == before
        assert len(rows(one, 0)) == count
        return
    for act in wanted.acts.values():
        other.write(act)
    assert rows(one, count) == rows(other, count)
    assert levels(one) == levels(other)
    strike_together(one, acts.Strike(entry=written[-1].id))
    assert states(one) == before
    assert not any(finding.broken for finding in one.check())


def marks(book: Book) -> dict[str, str]:
    with book.reading() as connection:
        return {row.entry_id: row.act_id for row in connection.execute(select(TOGETHER))}


def test_they_bear_one_mark_and_are_struck_as_one_or_singly(cellar_book: Book) -> None:
    """On both databases; one that was struck by itself stays as it is, and a strike of all is not done twice."""
    wanted = meant(cellar_book, "fill", vessel="B-2..B-4", from_="T-1", volume="20 L")
    one, two, three = write_several(cellar_book, wanted)
    assert marks(cellar_book) == {each.id: one.id for each in (one, two, three)}
    cellar_book.write(acts.Strike(entry=two.id))
    assert len(strike_together(cellar_book, acts.Strike(entry=two.id[:16]))) == 2
    assert [cellar_book.cellar()[tag].ml for tag in ("B-2", "B-3", "B-4")] == [0, 0, 0]
    with pytest.raises(AlreadyStruck):
        strike_together(cellar_book, acts.Strike(entry=three.id))


def test_what_was_written_by_itself_is_struck_by_itself(small: Book) -> None:
    """And bears no mark."""
    sample = small.write(acts.Sample(vessel="B-1", volume=100))
    assert marks(small) == {}
    assert [each.act.kind for each in strike_together(small, acts.Strike(entry="last"))] == ["strike"]
    with small.reading() as connection:
        [entry] = entries(connection, ids=[sample.id])
    assert entry.struck_by


def test_a_refusal_names_the_vessel_and_writes_nothing(small: Book) -> None:
    """Where the rule itself names another."""
    before = states(small)
    with pytest.raises(OneRefused, match=r"B-4: K-1 holds 0\.0 L; 20\.0 L cannot come out") as refused:
        write_several(small, meant(small, "fill", vessel="B-2,B-3,B-4", from_="K-1", volume="20 L"), sure=True)
    assert refused.value.vessel == "B-4"
    assert states(small) == before


def test_what_is_asked_back_is_asked_of_all_at_once(small: Book) -> None:
    """By vessel; one yes answers for all."""
    wanted = meant(small, "sample", vessel="B-1,T-1", volume="2 L")
    with pytest.raises(AskedTogether) as asked:
        write_several(small, wanted)
    assert "of B-1" in asked.value.question(DEFAULT)
    assert "of T-1" in asked.value.question(DEFAULT)
    assert len(write_several(small, wanted, sure=True)) == 2


def test_what_is_asked_does_not_stand_in_the_way_of_those_after_it(small: Book) -> None:
    """The second draws on what the first, which is asked back, would leave."""
    wanted = Meant({"B-1": acts.Sample(vessel="B-1", volume=2000), "T-1": acts.Sample(vessel="T-1", volume=100)})
    with pytest.raises(AskedTogether) as asked:
        write_several(small, wanted)
    assert len(asked.value.questions) == 1
