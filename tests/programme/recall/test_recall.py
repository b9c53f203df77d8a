"""Recall both ways: by hand on a small cellar, as laws over random histories, and against a walk over written moves."""

import csv
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.bottles import bottle_moves
from cooperage.book.declared import acts
from cooperage.book.errors import NothingToTrace, StruckNotTraced
from cooperage.book.store.tables import BOTTLING, ENTRY, LOT, MOVE, VESSEL
from cooperage.exchange.reports.recalled import recall_report
from cooperage.programme.recall.asked import (
    BACK,
    FORWARD,
    NoSuchHand,
    NothingAsked,
    NoWayBack,
    RecallQuestion,
    SpanLiesAhead,
    recall,
)
from cooperage.programme.recall.claims import label_claims
from cooperage.programme.recall.found import Recall
from cooperage.programme.recall.words import claim_lines
from cooperage.units import DEFAULT, Span
from tests.book.test_laws import Run, runs
from tests.examples import tried_on


def litres(found: Recall, *kinds: str) -> dict[str, float]:
    """Return the litres of the rows of some kinds by place."""
    return {row.place: round(row.ml / 1000, 6) for row in found.of(*kinds)}


def forward(book: Book, code: str = "", **more: Any) -> Recall:
    """Follow something forward."""
    return recall(book, RecallQuestion(code, direction=FORWARD, **more))


def test_a_lot_goes_forward_to_bottles_vessels_and_losses(bottled: Book) -> None:
    """What is of a lot, and what part of each bottle: 75 of 187.5 L in the tank were LIME."""
    found = forward(bottled, "LIME")
    assert found.ml == 75_000
    assert litres(found, "bottling") == {"RUN": 54.0}
    (row,) = found.of("bottling")
    assert row.bottles == 180
    assert (row.share_there, row.fraction) == pytest.approx((0.4, 0.72))
    assert sum(row.ml for row in found.of("bottling", "vessel", "lost")) == pytest.approx(75_000)
    assert {"Ada", "Maren"} <= set(found.hands)


def test_back_are_lots_barrels_with_their_days_additions_and_hands(bottled: Book) -> None:
    """Back from bottles: the days in each barrel, the dose and the part of it that is in them."""
    found = recall(bottled, RecallQuestion("RUN"))
    assert litres(found, "lot") == {"HEATHER": 81.0, "LIME": 54.0}
    days = {row.place: row.days for row in found.of("vessel")}
    assert days["B-1"] == pytest.approx(100, abs=0.1)
    (dose,) = found.doses
    assert (dose.substance, dose.amount, dose.vessel, dose.hand) == ("metabisulphite", 10.0, "T-2", "Jory")
    assert dose.fraction == pytest.approx(135 / 187.5)
    assert set(found.hands) >= {"Jory", "Ada", "Maren"}


def test_what_is_poured_back_goes_on_through_its_bottling(bottled: Book) -> None:
    """40 of 180 bottles go into a barrel: both ways by their lots, no more in the bottles, and no gauge's gain."""
    bottled.write(acts.PourBack(code="RUN", bottles=40, vessel="B-4", loss=500, hand="Tove"))
    found = forward(bottled, "LIME")
    assert (found.ml, found.gained_ml) == (75_000, 0)
    assert litres(found, "bottling") == {"RUN": pytest.approx(0.4 * 105)}
    assert litres(found, "vessel")["B-4"] == pytest.approx(0.4 * 29.5)
    (row,) = found.of("bottling")
    assert row.bottles == 140
    assert row.share_there == pytest.approx(0.4)
    back = recall(bottled, RecallQuestion("B-4"))
    assert litres(back, "lot") == pytest.approx({"HEATHER": 17.7, "LIME": 11.8})
    assert {"B-1", "T-1", "T-2"} <= {row.place for row in back.of("vessel")}
    assert "RUN" in {branch.place for branch in back.tree}
    assert [dose.fraction for dose in back.doses] == [pytest.approx(29.5 / 187.5)]
    assert litres(recall(bottled, RecallQuestion("RUN")), "lot") == {"HEATHER": 81.0, "LIME": 54.0}
    assert litres(forward(bottled, "RUN"), "bottling", "vessel") == pytest.approx({"RUN": 105, "B-4": 29.5})
    assert forward(bottled, hand="Tove").ml == 30_000


def test_bottles_that_a_count_found_are_poured_back_too(bottled: Book) -> None:
    """Ten more than were filled are the same mead, more of it; nothing is left in the bottles."""
    bottled.write(acts.Stocktake(code="RUN", bottles=190, sure=True))
    bottled.write(acts.PourBack(code="RUN", bottles=190, vessel="T-2"))
    found = forward(bottled, "LIME")
    assert found.of("bottling") == []
    assert found.gained_ml == pytest.approx(0.4 * 7_500)
    assert litres(found, "vessel")["T-2"] == pytest.approx(0.4 * (52.5 + 142.5))


@pytest.mark.parametrize("poured", [0, 50, 62])
def test_bottles_that_a_count_found_are_on_the_list(bottled: Book, poured: int) -> None:
    """Of 60 and ten more, whatever was poured back: all that are left have their part, and the sums agree."""
    bottled.write(acts.Bottle(vessel="T-2", code="LAST", bottles=60, sure=True))
    bottled.write(acts.Stocktake(code="LAST", bottles=70, sure=True))
    if poured:
        bottled.write(acts.PourBack(code="LAST", bottles=poured, vessel="T-2", sure=True))
    found = forward(bottled, "LIME")
    (row,) = (row for row in found.of("bottling") if row.place == "LAST")
    assert row.bottles == 70 - poured
    assert row.ml == pytest.approx(0.4 * (70 - poured) * 750)
    assert found.gained_ml == pytest.approx(0.4 * 10 * 750)
    assert sum(row.ml for row in found.of("bottling", "vessel", "lost")) == pytest.approx(found.ml)


def test_the_list_has_a_row_for_everybody_who_has_bottles(bottled: Book) -> None:
    """Who has them with the papers, what came back, what is in a store, broken, and poured back no more in bottles."""
    for act in (
        acts.Stow(code="RUN", bottles=100, store="Loft"),
        acts.Remove(code="RUN", bottles=30, went="sold", source="Loft", party="Quay Inn", document="INV-7"),
        acts.Remove(code="RUN", bottles=12, went="sold", source="Loft", party="Quay Inn", document="INV-9"),
        acts.TakeBack(code="RUN", bottles=6, went="sold", store="Loft", party="Quay Inn"),
        acts.Remove(code="RUN", bottles=2, went="broken", source="Loft"),
        acts.PourBack(code="RUN", bottles=10, vessel="B-4", source="Loft"),
    ):
        bottled.write(act)
    report = recall_report(bottled, RecallQuestion("LIME"), "Ada")
    rows = [dict(zip((column.name for column in report.columns), row, strict=True)) for row in report.rows]
    listed = [
        (row["do"], row["where"], row["bottles"], str(row["call"]).strip("_")) for row in rows if row["what"] == "RUN"
    ]
    assert listed == [
        ("call back", "sold", 36, "Quay Inn (INV-7, INV-9)"),
        ("stop: sell none", "not stowed", 80, ""),
        ("stop: sell none", "Loft", 52, ""),
        ("broken: nothing to do", "broken", 2, ""),
    ]
    assert rows[0]["volume"] == 0.4 * 36 * 750
    assert report.foot.startswith("170 bottles of 1 bottling")


def test_bottles_that_came_back_from_nobody_in_particular_stay_on_the_list(bottled: Book) -> None:
    """The customer keeps all of his, and what came back is taken off in a row of its own."""
    bottled.write(acts.Remove(code="RUN", bottles=30, went="sold", party="Quay Inn"))
    bottled.write(acts.TakeBack(code="RUN", bottles=6, went="sold", sure=True))
    report = recall_report(bottled, RecallQuestion("LIME"), "")
    assert [row[3] for row in report.rows if row[1] == "RUN"] == [30, -6, 156]


def test_an_entry_is_the_liquid_it_moved(bottled: Book) -> None:
    """A litre of topping, by its entry's id and by its hand: half of it left the barrel."""
    with bottled.reading() as connection:
        entry = connection.execute(select(ENTRY.c.id).where(ENTRY.c.kind == "top")).scalar_one()
    found = forward(bottled, entry)
    assert found.ml == 1_000
    assert litres(found, "vessel")["B-1"] == pytest.approx(0.5)
    assert litres(found, "bottling")["RUN"] == pytest.approx(0.5 * 135 / 187.5)
    assert found.ml < forward(bottled, hand="jory").ml == 1_000 + 187_500 - 500, "the dose opened the whole tank"


def test_a_span_of_a_vessel_is_what_it_held_then_and_what_came_in(bottled: Book) -> None:
    """The keg before it topped the barrel is all of it; after that, only what is left."""
    end = bottled.now()
    assert forward(bottled, "K-1").ml == 40_000
    later = forward(bottled, "K-1", span=Span(end - timedelta(days=50), end + timedelta(days=1)))
    assert later.ml == 39_000
    assert litres(later, "vessel") == {"K-1": 39.0}


def test_barrel_work_on_an_empty_barrel_marks_its_next_fill(cellar_book: Book) -> None:
    """A wick burned in an empty barrel is on what fills it next, and on nothing else."""
    cellar_book.write(acts.Treat(vessel="B-4", treatment="rinse", hand="Tove"))
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1"))
    cellar_book.write(acts.Rack(vessel="B-4", destination="T-2", sure=True))
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1", sure=True))
    assert litres(forward(cellar_book, hand="Tove"), "vessel") == {"T-2": 50.0}


def test_what_is_struck_is_passed_over_and_what_is_late_counts(bottled: Book) -> None:
    """A strike takes a path away; an entry typed late puts its mead into all that came later."""
    topping = bottled.write(acts.Top(vessel="B-1", source="T-2", volume=2_000, not_full=True, sure=True))
    assert "LIME" in litres(recall(bottled, RecallQuestion("B-1")), "lot")
    bottled.write(acts.Strike(entry=topping.id))
    assert "LIME" not in litres(recall(bottled, RecallQuestion("B-1")), "lot")
    with pytest.raises(StruckNotTraced, match="is struck, so nothing follows"):
        forward(bottled, topping.id)
    before = litres(recall(bottled, RecallQuestion("RUN")), "lot")
    late = bottled.now() - timedelta(hours=1)
    bottled.write(acts.Rack(vessel="T-1", destination="B-4", volume=10_000, at=late - timedelta(days=50), sure=True))
    bottled.write(acts.Sample(vessel="B-4", volume=100, at=late - timedelta(days=49), sure=True))
    assert litres(recall(bottled, RecallQuestion("RUN")), "lot") == before
    assert litres(forward(bottled, "HEATHER"), "vessel")["B-4"] == 9.9


def test_claims_have_their_least(bottled: Book) -> None:
    """Age is of the litre that came last; LIME was in no barrel, so the least is nothing."""
    claims = label_claims(bottled, "RUN")
    assert claims.least_wood_days == 0
    assert claims.mean_wood_days == pytest.approx(60, abs=0.1)
    assert claims.never_in_wood_share == pytest.approx(0.4)
    assert {share.name: share.litres for share in claims.honeys} == pytest.approx({"heather": 81, "lime-blossom": 54})
    assert claims.least(claims.honeys) == claims.honeys[1]
    assert [(share.name, round(share.fraction, 6)) for share in claims.woods] == [("oak, Quercus petraea", 0.6)]
    assert claims.least_age_days is None, "no lot has the day it was pitched"
    topped = label_claims(bottled, "B-1")
    assert topped.least_wood_days == pytest.approx(100, abs=0.1)
    assert topped.never_in_wood_share == 0, "what lies in a barrel rests in its wood now"
    assert {share.name: share.fraction for share in topped.woods} == pytest.approx({"oak, Quercus petraea": 1.0})


def test_claims_are_read_in_columns_and_a_new_barrel_held_nothing(bottled: Book) -> None:
    """Half of what B-1 has left goes into a new barrel; every line's figures begin in one column."""
    bottled.write(acts.Rack(vessel="B-1", destination="B-2", volume=50_000, sure=True))
    lines = claim_lines(label_claims(bottled, "B-2"), DEFAULT)
    assert any("last barrel held nothing, it was new" in line for line in lines), lines
    assert {line[18] == " " for line in lines if line.startswith("  ")} == {True}
    assert all(line[19] != " " for line in lines if line.startswith("  ") and "in no barrel" not in line)


@pytest.mark.parametrize(
    ("question", "error"),
    [
        (RecallQuestion(), NothingAsked),
        (RecallQuestion("NOTHING"), NothingToTrace),
        (RecallQuestion(hand="nobody"), NoSuchHand),
        (RecallQuestion("HEATHER", direction=BACK), NoWayBack),
        (RecallQuestion(hand="Jory", direction=BACK), NoWayBack),
    ],
)
def test_what_cannot_be_traced_is_refused(bottled: Book, question: RecallQuestion, error: type[Exception]) -> None:
    """Each with its own name."""
    with pytest.raises(error):
        recall(bottled, question)


@pytest.mark.slow
@given(run=runs)
@tried_on(16)
def test_forward_and_back_agree(fresh_sqlite: Callable[[], Book], run: Any) -> None:
    """Litres of every lot in every bottling and vessel are the same both ways, and all that begins is somewhere."""
    book = Run(fresh_sqlite()).carry_out(run).book
    cellar = book.cellar()
    ahead = {code: forward(book, code) for code in cellar.lots}
    held = [standing.tag for standing in cellar if standing.ml]
    bottlings = {row.place for found in ahead.values() for row in found.of("bottling")}
    back = {code: litres(recall(book, RecallQuestion(code)), "lot") for code in [*held, *bottlings]}
    left = dict.fromkeys(held, 1.0) | _left_in_bottles(book)
    for code, found in ahead.items():
        assert sum(row.ml for row in found.of("bottling", "vessel", "lost")) == pytest.approx(found.ml)
        on = litres(found, "bottling", "vessel")
        assert set(on) == {place for place, lots in back.items() if code in lots}
        for row in found.of("bottling", "vessel"):
            whole = sum(back[row.place].values()) * float(row.share_there or 0)
            assert whole == pytest.approx(back[row.place][code], rel=1e-6, abs=2e-6)
            assert on[row.place] == pytest.approx(whole * left[row.place], rel=1e-6, abs=2e-6)
    for tag in held:
        found = forward(book, tag)
        assert sum(row.fraction for row in found.of("bottling", "vessel", "lost")) == pytest.approx(1)
        (here,) = (row for row in found.of("vessel") if row.place == tag)
        assert here.share_there == 1.0, "all that a vessel holds came into it"


_COUNTED_ENDS = (("source", "filled"), ("destination", "poured back"), ("source", "count"), ("destination", "count"))


def _left_in_bottles(book: Book) -> dict[str, float]:
    """Return what there is of each bottling by what was filled: without what was poured back, with what was found."""
    left: dict[str, float] = {}
    with book.reading() as connection:
        moves = bottle_moves(connection)
    for code in {move.code for move in moves}:
        mine = [move for move in moves if move.code == code]
        filled, poured, found, missing = (
            sum(move.bottles for move in mine if getattr(move, end) == place) for end, place in _COUNTED_ENDS
        )
        left[code] = (filled - poured + max(0, found - missing)) / filled
    return left


# --- an independent walk --------------------------------------------------------------------------------------------


def _write_moves(book: Book, path: Path) -> None:
    """Write the standing moves as CSV, by names, in the order they happened."""
    struck = select(ENTRY.c.strikes_id).where(ENTRY.c.strikes_id.is_not(None))
    query = (
        select(MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml, MOVE.c.lot_id, MOVE.c.substance, BOTTLING.c.code)
        .join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
        .join(BOTTLING, BOTTLING.c.entry_id == ENTRY.c.id, isouter=True)
        .where(ENTRY.c.kind != "strike", ENTRY.c.id.not_in(struck))
        .order_by(ENTRY.c.happened_at, ENTRY.c.id, MOVE.c.seq)
    )
    with book.reading() as connection:
        names = {row[0]: row[1] for row in connection.execute(select(VESSEL.c.id, VESSEL.c.tag))}
        names |= {row[0]: row[1] for row in connection.execute(select(LOT.c.id, LOT.c.code))}
        with path.open("w", newline="") as out:
            writer = csv.writer(out)
            for source, to, ml, lot, substance, code in connection.execute(query):
                place = f"bottling {code}" if to == "bottled" else names.get(to, to)
                writer.writerow([names.get(source, source), place, ml, names.get(lot, substance or "")])


def _walked(path: Path, vessels: set[str]) -> tuple[dict[str, int], dict[str, int], Any]:
    """Walk the moves as rows of one matrix, places by origins [ml]: each move takes its part of its source's row."""
    with path.open(newline="") as written:
        moves = [(source, to, int(ml), origin) for source, to, ml, origin in csv.reader(written)]
    places = {name: n for n, name in enumerate(sorted({end for move in moves for end in move[:2]}))}
    origins = {name: n for n, name in enumerate(sorted({move[3] for move in moves}))}
    held = np.zeros((len(places), len(origins)))
    for source, to, ml, origin in moves:
        if source in vessels:
            row = held[places[source]]
            part = row * (ml / row.sum())
            held[places[source]] -= part
        elif origin:
            part = np.zeros(len(origins))
            part[origins[origin]] = ml
        else:
            row = held[places[to]]  # a gauge found more of the same
            part = row * (ml / row.sum())
        held[places[to]] += part
    return places, origins, held


@pytest.mark.slow
def test_the_demo_agrees_with_a_walk_over_its_written_moves(demo_file: Path, tmp_path: Path) -> None:
    """All lots forward, and both bottlings back, against a matrix that was walked from a file of moves."""
    book = Book.open(str(demo_file))
    cellar = book.cellar()
    _write_moves(book, tmp_path / "moves.csv")
    places, origins, held = _walked(tmp_path / "moves.csv", {standing.tag for standing in cellar})
    for code in cellar.lots:
        found = forward(book, code)
        for row in found.of("bottling", "vessel", "lost"):
            name = f"bottling {row.place}" if row.kind == "bottling" else row.place
            assert row.ml == pytest.approx(held[places[name], origins[code]], rel=1e-6, abs=1e-3)
        column = sum(held[:, origins[code]]) if code in origins else 0.0
        assert sum(row.ml for row in found.of("bottling", "vessel", "lost")) == pytest.approx(column, rel=1e-6)
    for code in ("SALT-25", "DUSK-26"):
        back = {row.place: row.ml for row in recall(book, RecallQuestion(code)).of("lot")}
        row = held[places[f"bottling {code}"]]
        assert back == {name: pytest.approx(row[n], rel=1e-6) for name, n in origins.items() if row[n] > 1e-6}
    book.close()


def test_a_span_that_lies_ahead_is_refused(bottled: Book) -> None:
    """It is no answer of nothing; one that has begun is answered, its end ahead or not."""
    now = bottled.now()
    for direction in (FORWARD, BACK):
        with pytest.raises(SpanLiesAhead, match="lies ahead"):
            recall(bottled, RecallQuestion("B-4", span=Span(now + timedelta(days=2)), direction=direction))
    assert forward(bottled, "B-4", span=Span(now - timedelta(days=2), now + timedelta(days=2))).title
