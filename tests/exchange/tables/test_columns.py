"""One declaration, many faces: no field and no kind can be forgotten in the files."""

from dataclasses import fields
from datetime import UTC, datetime
from typing import Any

import pytest

from cooperage.book import KINDS, Barrel, Lot, Upkeep
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.book.writing.write import words_of
from cooperage.exchange.entries import read_entry, show_entry
from cooperage.exchange.tables.cells import Clock
from cooperage.exchange.tables.columns import BARREL, FILES, LOTS, UPKEEP, columns_of
from cooperage.exchange.tables.sheets import Row

AT = datetime(2026, 3, 4, 5, 6, 7, 890123, UTC)
EXAMPLES = {
    "receive": acts.Receive(lot="HE", vessel="T-1", volume=123_456),
    "fill": acts.Fill(vessel="B-1", source="T-1"),
    "top": acts.Top(vessel="B-1", volume=1850, source="K-1", not_full=True, cause="leak"),
    "rack": acts.Rack(vessel="B-1", destination="poured away", volume=2000, lees=300, empties=True, cause="spilled"),
    "gauge": acts.Gauge(vessel="B-1", headspace=43.75, cause="evaporated"),
    "sample": acts.Sample(vessel="B-1", volume=75),
    "reading": acts.Reading(vessel="B-1", property="sg", value=1.0213, uncertainty=0.0004, method="hydrometer; 2nd"),
    "addition": acts.Addition(vessel="B-1", substance="water", amount=1500),
    "treat": acts.Treat(vessel="B-1", treatment="so2 gas"),
    "judge": acts.Judge(vessel="B-1", verdict="look again", weeks=8, flight="F-4", note="oak is rising"),
    "look": acts.Look(vessel="B-1", level="very low", bung="weeping", smell="vinegar, egg"),
    "climate": acts.Climate(room="Loft", temperature=12.25, humidity=71.5),
    "lotcost": acts.LotCost(lot="HE", cost_per_l=7.25),
    "lotend": acts.LotEnd(lot="HE", final_sg=1.022),
    "shift": acts.Shift(vessel="B-1", room="Loft", row="A", bay=2, tier=1),
    "blend": acts.Blend(vessel="T-1", draws=(("B-1", 7), ("B-2", 120_000)), doses=(("honey", 0.1), ("spirit", 250))),
    "bottle": acts.Bottle(vessel="T-1", code="X-1", bottles=10, bottle=500, loss=5, empties=True),
    "stow": acts.Stow(code="X-1", bottles=120, store="Loft", source="cage 2"),
    "remove": acts.Remove(
        code="X-1", bottles=48, went="in bond elsewhere", source="Loft", party='inn; "Bay"', document="118/b"
    ),
    "takeback": acts.TakeBack(code="X-1", bottles=6, went="given away", store="Loft", party="Ada", document="119"),
    "stocktake": acts.Stocktake(code="X-1", bottles=0, store="Loft"),
    "pourback": acts.PourBack(code="X-1", bottles=6, vessel="T-1", source="Loft", loss=40),
    "retire": acts.Retire(vessel="B-1", reason='split,\n"twice"', disposition='sold; as "bench"', received=45.25),
    "strike": acts.Strike(entry="0193531b534070009c81cbfa61a87ad3"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_a_row_and_comes_back_the_same(kind: Any) -> None:
    """An act of each kind, shown as cells and read again, is the same act with the same id and times."""
    act = EXAMPLES[kind]
    entry = Entry("an-id", kind, AT, AT, "Ada", " a note ", None, words_of(act), None, None)
    cells = {name: text for name, text in show_entry(entry).items() if text}
    read = read_entry(Row("entries.csv", 2, cells), Clock(AT))
    assert words_of(read.act) == words_of(act)
    assert (read.act.at, read.act.hand, read.act.note, read.act.sure) == (AT, "Ada", " a note ", True)
    assert (read.id, read.written_at) == ("an-id", AT)


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_every_kind_has_its_column(kind: Any) -> None:
    """The entries file names every field that any kind declares."""
    names = {column.name for column in FILES["entries"]}
    assert {face.name for _, face in acts.faces(KINDS[kind])} <= names
    assert {column.fills for column in columns_of(KINDS[kind])} == {field.name for field, _ in acts.faces(KINDS[kind])}


@pytest.mark.parametrize(("columns", "kind"), [(BARREL, Barrel), (UPKEEP, Upkeep), (LOTS, Lot)])
def test_every_field_that_is_registered_has_its_column(columns: Any, kind: Any) -> None:
    """Nothing known of a barrel, its upkeep or a lot is lost on the way out."""
    assert {column.fills for column in columns} == {field.name for field in fields(kind)}
