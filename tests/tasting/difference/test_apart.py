"""A difference test is no score: nothing that reads scores meets one, whatever it showed.

Flights that are scored come from `flights/stored.py` alone, which leaves difference tests out; so whoever reads scores
through it leaves them out too, and whoever would read the tables beside it must be looked at here.
"""

import ast
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import cooperage
from cooperage.blending.pour.glass import blind_benches, tasted_glasses
from cooperage.book import Book
from cooperage.programme.ready.tasted import panel_looks
from cooperage.programme.wood.history import histories
from cooperage.programme.wood.scored import wood_scores
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.closing import reveal_any
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.vessels import vessel_differences
from cooperage.tasting.flights import flights
from cooperage.tasting.over_years import records_over_years
from cooperage.tasting.pulling import usual_flight
from cooperage.tasting.vessels import last_scores, vessel_scores

HOUSE = Path(cooperage.__file__).parent
OF_FLIGHTS = {"FLIGHT", "GLASS", "SCORE", "MARK", "SCORED", "SERVING"}
# Who reads the tables themselves, and why that shows no score of a difference test.
READS_TABLES = {
    "tasting/flights/stored.py": "leaves difference tests out",
    "tasting/flights/pouring.py": "writes flights that are scored, and asks which codes are taken",
    "tasting/flights/orders.py": "writes the order of a scored flight",
    "tasting/flights/scoring.py": "writes scores",
    "tasting/flights/closing.py": "writes that a flight is revealed",
    "tasting/difference/stored.py": "reads difference tests as such",
    "tasting/difference/pouring.py": "writes them",
    "tasting/under_way.py": "lists the codes of open flights, which these are too",
    "programme/search/everything.py": "finds flights by code and name",
    "programme/ready/readiness.py": "marks by the codes of revealed flights what is kept; reads no glass",
    "exchange/tastings/flights_and_scores.py": "files, both ways, where nothing is scored in one",
    "exchange/tastings/servings_and_peeks.py": "files, both ways",
    "exchange/tastings/difference_sets.py": "files, both ways",
    "exchange/copying.py": "copies rows as they are",
    "book/book.py": "asks when vessels were scored last, by glasses that have a score",
    "blending/trials/kept.py": "finds which flight a session of a trial was poured as",
    "programme/compared/kept.py": "finds which flights a trial across barrels was poured as",
    "programme/compared/pouring.py": "asks which code is taken",
    "tasting/pulling.py": "asks when the last flights were poured, for what their glasses took",
    "book/laws.py": "holds rows against the laws",
    "book/replay/latest.py": "counts revealed flights, for a mark",
}


def importers() -> Iterator[str]:
    for path in HOUSE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        for node in ast.parse(text).body if "cooperage.book.store.tables import" in text else ():
            if not isinstance(node, ast.ImportFrom) or node.module != "cooperage.book.store.tables":
                continue
            if OF_FLIGHTS & {alias.name for alias in node.names}:
                yield path.relative_to(HOUSE).as_posix()


def test_nobody_else_reads_the_tables_of_flights() -> None:
    """A new reader is put on the list, with why it meets no difference test, or reads `flights`."""
    assert set(importers()) == READS_TABLES.keys()


def scores_of(book: Book) -> dict[str, Any]:
    """Whatever is made of scores: means, records, curves of ripening, effects of wood, glasses to scale up."""
    cellar = book.cellar()
    with book.reading() as connection:
        looks = panel_looks(book, connection)
    return {
        "means": {tag: vessel_scores(book, tag) for tag in ("B-010", "B-012")},
        "last": last_scores(book),
        "records": repr(records_over_years(book)),
        "ready": looks,
        "wood": wood_scores(book, cellar, histories(book, cellar)),
        "bench": (tasted_glasses(book), blind_benches(book)),
        "usual": usual_flight(flights(book)),
    }


@pytest.mark.slow
def test_no_reader_of_scores_meets_a_difference_test(demo_file: Path, tmp_path: Path) -> None:
    """Poured, answered and revealed between two barrels that were scored, with a bench glass too: nothing changes."""
    book = Book.open(str(shutil.copy(demo_file, tmp_path / "cellar.db")))
    before = scores_of(book)
    assert all(before.values())
    for tags, bench in ((["B-010", "B-012"], []), (["B-010"], ["plan: 62.5 ml B-010, 37.5 ml B-012"])):
        question = DifferenceQuestion("triangle", rounds=2)
        poured = start_difference(book, tags, question, ["Iko", "Tove"], bench=bench, sure=True)
        for each in poured.sets:
            answer(book, poured.code, each.taster, each.codes[0])
        reveal_any(book, poured.code)
    assert len(vessel_differences(book, "B-010")) == 2
    assert scores_of(book) == before
    book.close()
