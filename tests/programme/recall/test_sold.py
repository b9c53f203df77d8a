"""Bottles that were moved, sold above all: what an entry or a hand reached, and who has it."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.bottles import BottleMove
from cooperage.book.declared import acts
from cooperage.book.store.tables import ENTRY
from cooperage.exchange.reports.recalled import recall_report
from cooperage.programme.recall.asked import FORWARD, RecallQuestion, recall
from cooperage.programme.recall.found import Recall
from cooperage.programme.recall.whereabouts import shares_poured_back, whereabouts
from cooperage.programme.recall.words import stop_words
from cooperage.units import DEFAULT


def forward(book: Book, code: str = "", **more: Any) -> Recall:
    return recall(book, RecallQuestion(code, direction=FORWARD, **more))


def _id_of(book: Book, kind: str) -> str:
    with book.reading() as connection:
        return str(connection.execute(select(ENTRY.c.id).where(ENTRY.c.kind == kind)).scalar_one())


def test_a_sale_reaches_its_bottles_and_who_has_them(bottled: Book) -> None:
    """48 bottles sold, of which a quarter came back among the 132 that were left: 9 of 141 there are of the sale."""
    bottled.write(acts.Remove(code="RUN", bottles=48, went="sold", party="Quay Inn", document="INV-7", hand="Tove"))
    sale = _id_of(bottled, "remove")
    (row,) = forward(bottled, sale).of("bottling")
    assert (row.ml, row.bottles, row.share_there, row.hands) == (36_000, 48, 1.0, ("Tove",))
    assert [(each.words, each.documents, each.bottles) for each in row.holders] == [
        ("sold to Quay Inn", ("INV-7",), 48)
    ]
    bottled.write(acts.TakeBack(code="RUN", bottles=12, went="sold", party="Quay Inn"))
    found = forward(bottled, sale)
    (row,) = found.of("bottling")
    assert found.ml == row.ml == pytest.approx(36_000)
    assert [(each.place, each.bottles) for each in row.holders] == [("sold", 36), ("", 144)]
    assert [each.ml for each in row.holders] == pytest.approx([27_000, 9_000])
    report = recall_report(bottled, RecallQuestion(sale), "")
    assert report.rows[0][0] == "call back"
    assert report.rows[0][-1] == "Quay Inn (INV-7)"
    assert [branch.place for branch in found.tree] == ["RUN", "sold to Quay Inn"]


def test_a_hand_reaches_what_it_sold(bottled: Book) -> None:
    """30 bottles sold, of a run that had nothing else by that hand; and a barrel filled."""
    bottled.write(acts.Rack(vessel="T-2", destination="B-4", volume=5_000, hand="Tove", sure=True))
    bottled.write(acts.Remove(code="RUN", bottles=30, went="sold", party="Quay Inn", hand="Tove"))
    found = forward(bottled, hand="Tove")
    (row,) = found.of("bottling")
    assert found.title == "entries by Tove"
    assert found.ml == pytest.approx(5_000 + 30 * 750)
    assert row.ml == pytest.approx(30 * 750)
    assert sum(each.ml for each in found.of("bottling", "vessel", "lost")) == pytest.approx(found.ml)
    assert [
        row[3] for row in recall_report(bottled, RecallQuestion(hand="Tove"), "").rows if row[0] == "call back"
    ] == [30]
    (narrowed,) = forward(bottled, "RUN", hand="Tove").of("bottling")
    assert narrowed.ml == 30 * 750


def test_what_is_to_be_called_back_and_stopped(bottled: Book) -> None:
    """30 of 180 bottles are with others; 21 L of LIME are left in the tank."""
    bottled.write(acts.Remove(code="RUN", bottles=30, went="sold", party="Quay Inn"))
    bottled.write(acts.Remove(code="RUN", bottles=2, went="broken"))
    words = stop_words(forward(bottled, "LIME"), DEFAULT)
    assert words == "30 bottles to call back, 148 bottles to stop, 21.0 L of it to stop in 1 vessel"


def test_bottles_of_a_sale_that_were_poured_back_are_followed_on(bottled: Book) -> None:
    """Half of the 180 bottles go into T-2, over 52.5 L, and a quarter of that goes on; so do ten of the 20 sold."""
    bottled.write(acts.Remove(code="RUN", bottles=20, went="sold", party="Quay Inn"))
    sale = _id_of(bottled, "remove")
    bottled.write(acts.TakeBack(code="RUN", bottles=20, went="sold", party="Quay Inn"))
    bottled.write(acts.PourBack(code="RUN", bottles=90, vessel="T-2"))
    bottled.write(acts.Rack(vessel="T-2", destination="B-4", volume=30_000, sure=True))
    found = forward(bottled, sale)
    there = {row.place: row.ml for row in found.of("bottling", "vessel")}
    assert found.ml == pytest.approx(15_000)
    assert sum(there.values()) == pytest.approx(found.ml)
    assert there["RUN"] == pytest.approx(7_500)
    assert there["T-2"] == pytest.approx(7_500 * 90 / 120)
    assert there["B-4"] == pytest.approx(7_500 * 30 / 120)
    (row,) = (row for row in found.of("vessel") if row.place == "B-4")
    assert row.share_there == pytest.approx(7_500 / 120_000)
    assert [branch.place for branch in found.tree] == ["RUN", "T-2", "B-4"]
    assert "stop" in stop_words(found, DEFAULT)
    report = recall_report(bottled, RecallQuestion(sale), "")
    assert {"T-2", "B-4"} <= {str(cell) for line in report.rows for cell in line}


@pytest.mark.parametrize("poured", [1, 45, 66])
def test_a_sale_of_every_bottle_reaches_what_the_bottling_reaches(bottled: Book, poured: int) -> None:
    """Asked by the sale, by its hand or by the code, the same vessels have the same of it; and back it is there."""
    bottled.write(acts.Remove(code="RUN", bottles=180, went="sold", party="Quay Inn", hand="Tove"))
    bottled.write(acts.TakeBack(code="RUN", bottles=180, went="sold", party="Quay Inn"))
    bottled.write(acts.PourBack(code="RUN", bottles=poured, vessel="B-4", loss=200))
    bottled.write(acts.Top(vessel="B-1", source="B-4", volume=300, not_full=True, sure=True))
    asked = forward(bottled, _id_of(bottled, "remove")), forward(bottled, hand="Tove"), forward(bottled, "RUN")
    for found in asked:
        assert sum(row.ml for row in found.of("bottling", "vessel", "lost")) == pytest.approx(135_000)
    places = [{row.place: pytest.approx(row.ml) for row in found.of("bottling", "vessel", "lost")} for found in asked]
    assert places[0] == places[1] == places[2]
    back = recall(bottled, RecallQuestion("B-4"))
    assert "RUN" in {branch.place for branch in back.tree}


def test_a_hand_that_sold_and_poured_back_is_counted_once(bottled: Book) -> None:
    """All that Tove poured is of her pouring; what of it she had sold before begins there no second time."""
    bottled.write(acts.Remove(code="RUN", bottles=20, went="sold", party="Quay Inn", hand="Tove"))
    bottled.write(acts.TakeBack(code="RUN", bottles=20, went="sold", party="Quay Inn", hand="Tove"))
    bottled.write(acts.PourBack(code="RUN", bottles=90, vessel="T-2", hand="Tove"))
    found = forward(bottled, hand="Tove")
    assert sum(row.ml for row in found.of("bottling", "vessel")) == pytest.approx(found.ml)
    assert found.ml == pytest.approx(90 * 750 + 10 * 750)


@given(st.lists(st.tuples(st.sampled_from("SLTRP"), st.integers(1, 60), st.booleans()), max_size=12))
def test_marked_bottles_are_conserved(steps: list[tuple[str, int, bool]]) -> None:
    """Wherever bottles go, no more are marked than began, and no place has more of them than bottles."""
    at, began, moves = datetime(2026, 1, 1, tzinfo=UTC), 0.0, []
    ends = {"S": ("", "Loft"), "L": ("Loft", ""), "T": ("", "sold"), "R": ("sold", ""), "P": ("", "poured back")}
    for nth, (step, bottles, _) in enumerate([("", 100, False), *steps]):
        source, destination = ends.get(step, ("filled", ""))
        moves.append(BottleMove(f"e{nth}", at, "e0", "RUN", 750, bottles, source, destination, "", "Ada"))
    held = {"": 100, "Loft": 0, "sold": 0, "poured back": 0}
    standing = moves[:1]
    for move in moves[1:]:
        if held[move.source] >= move.bottles:
            held[move.source] -= move.bottles
            held[move.destination] += move.bottles
            standing.append(move)
    meant = {move.entry_id for move, (_, _, is_meant) in zip(moves[1:], steps, strict=True) if is_meant}
    found = whereabouts(standing, meant)
    assert all(-1e-9 <= each.marked <= each.bottles + 1e-9 for each in found)
    began = sum(move.bottles for move in standing if move.entry_id in meant)
    assert sum(each.marked for each in found) <= began + 1e-9
    assert sum(each.bottles for each in found) == 100 - held["poured back"]
    assert all(0 < share <= 1 for share in shares_poured_back(standing, meant).values())
