"""The demo cellar: goes in like anybody's files, breaks no law, and holds trouble worth finding."""

import csv
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.from_cellar import solve_in_cellar
from cooperage.book import Book
from cooperage.book.filed import FILED_LAWS
from cooperage.book.log import entries
from cooperage.book.store.gauging import expected_headspace
from cooperage.exchange import import_folder, shift_to_yesterday
from cooperage.programme.orders.checked import check_orders
from cooperage.resources import demo_folder
from cooperage.tasting.flights import flights, results
from cooperage.tasting.vessels import last_scores, on_one_scale

LAST_DAY = datetime(2026, 11, 20, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory, story_file: Path) -> Iterator[Any]:
    """The demo as its own last evening shows it."""
    path = shutil.copy(story_file, tmp_path_factory.mktemp("demo") / "demo.db")
    book = Book.open(str(path), lambda: LAST_DAY)
    yield book
    book.close()


@pytest.fixture(scope="module")
def log(demo: Any) -> Any:
    """Every entry of the demo, oldest first."""
    with demo.reading() as connection:
        return entries(connection)


@pytest.fixture(scope="module")
def standing(demo: Any) -> Any:
    """The demo cellar as it stands."""
    return demo.cellar()


@pytest.fixture(scope="module")
def barrels(standing: Any) -> Any:
    """Every barrel that was ever in the demo."""
    return [found for found in standing if found.vessel.is_barrel]


def read(log: Any, tag: Any, name: Any) -> Any:
    """List the values read of a property on a vessel, oldest first."""
    return [each.value for entry in log for each in entry.readings if (each.vessel, each.property) == (tag, name)]


def brief(name: Any) -> Any:
    """Find a brief of the demo."""
    return demo_folder() / "briefs" / f"{name}.toml"


@pytest.mark.slow
def test_no_law_is_broken(demo: Any) -> None:
    """Every law of the book counts something in the demo and finds nothing wrong; no period of it was filed yet."""
    findings = demo.check()
    assert [finding.law for finding in findings if finding.broken] == []
    assert {finding.law for finding in findings if not finding.counted} <= {
        law.__name__.replace("_", " ") for law in FILED_LAWS
    }


@pytest.mark.slow
def test_it_goes_into_postgresql_too(demo: Any, new_postgres: Callable[[], str], contents_of: Any) -> None:
    """The same files give the same litres and states on the other backend."""
    other = Book.create(new_postgres(), lambda: LAST_DAY)
    import_folder(other, demo_folder())
    assert not any(finding.broken for finding in other.check())
    assert contents_of(other) == contents_of(demo)
    other.close()


@pytest.fixture
def contents_of() -> Any:
    """Give a function that returns the litres, lots and strength of every vessel."""

    def of(book: Book) -> Any:
        lots = [(found.tag, found.ml, found.lots, found.value("abv")) for found in book.cellar()]
        return sorted(lots, key=lambda row: row[0])

    return of


def test_the_barrels_are_many_and_unlike(standing: Any, barrels: Any) -> None:
    """At least 48 barrels in three rooms, of six woods and past lives, four sizes, fills 1 to 6, and unknowns."""
    woods = [found.vessel.barrel for found in barrels]
    assert len(barrels) >= 48
    assert len({found.vessel.position[0] for found in barrels}) == 3
    assert len({wood.wood for wood in woods}) >= 6
    assert {"new", "white wine", "fortified wine", "whiskey", "rum", "maple syrup"} <= {w.past_life for w in woods}
    assert {"none", "wine", "fortified", "spirit", "beer", "other"} == {wood.past_kind for wood in woods}
    nominal = [found for found in barrels if found.vessel.capacity_how == "nominal"]
    assert len({found.vessel.capacity_ml for found in nominal}) >= 4
    fills = {found.fill_number for found in barrels}
    assert {1, 2, 3, 4, 5, 6, None} <= fills
    assert len({wood.toast_staves for wood in woods}) >= 4
    assert {found.vessel.capacity_how for found in barrels} == {"measured", "nominal", "unknown"}
    assert any(wood.year is None for wood in woods)
    assert Counter(found.vessel.kind for found in standing)["keg"] >= 6


def test_the_history_is_two_years_of_every_kind(standing: Any, log: Any) -> None:
    """At least 2,500 entries of every kind over two years, seven lots, and hands and notes as they come."""
    assert len(log) >= 2500
    assert (log[-1].happened_at - log[0].happened_at).days >= 720
    counts = Counter(entry.kind for entry in log)
    assert len(counts) == 21
    assert counts["stow"] >= 4
    assert counts["remove"] >= 20
    assert counts["takeback"] == 1
    assert counts["stocktake"] == 2
    assert counts["judge"] >= 5
    assert counts["climate"] >= 250
    assert counts["look"] >= 7
    assert counts["blend"] == counts["bottle"] == counts["retire"] == counts["strike"] == 2
    assert counts["top"] >= 900
    assert counts["gauge"] >= 5
    assert len(standing.lots) >= 7
    assert len({lot.honey for lot in standing.lots.values()}) >= 3
    assert sum(found.is_retired for found in standing) == 2
    assert sum((entry.written_at - entry.happened_at).days >= 1 for entry in log) >= 5


def test_seven_flights_of_barrels_and_a_trial_with_four_tasters(demo: Any) -> None:
    """Eight flights, each scored in full by the same four tasters; one pours a barrel twice, one is of blends."""
    poured = flights(demo)
    assert [each.code for each in poured if all(glass.vessel is None for glass in each.glasses)] == ["TR-1"]
    poured = [each for each in poured if each.code != "TR-1"]
    assert len(poured) == 7
    for flight in poured:
        assert len(flight.tasters) == 4
        assert len(flight.scores) == 4 * len(flight.glasses)
    assert sum(len({g.vessel for g in flight.glasses}) < len(flight.glasses) for flight in poured) == 1


ATTRIBUTES = ("honey", "fruit", "oak", "acidity")


def test_what_the_panel_finds_goes_with_time_in_wood(demo: Any) -> None:
    """Five flights score honey, fruit, oak and acidity; in B-007 oak rises."""
    poured = [each for each in reversed(flights(demo)) if each.attributes]
    assert [[attribute.name for attribute in each.attributes] for each in poured] == 5 * [list(ATTRIBUTES)]
    found = [results(each, "oak") for each in poured]
    oak = [row.adjusted for each in found if each for row in each.rows if row.glass.vessel == "B-007"]
    assert len(oak) >= 4
    assert oak[-1] > oak[0]
    assert all(given.verdict for each in poured for given in each.scores.values())


def test_both_bottlings_trace_to_their_lots(demo: Any) -> None:
    """Each bottling is made of at least two lots and five barrels."""
    for code in ("SALT-25", "DUSK-26"):
        trace = demo.trace(code)
        assert len(trace.lots) >= 2
        assert len(trace.barrels) >= 5
        assert trace.bottles > 1000


def test_barrels_are_topped_like_with_like(log: Any, standing: Any) -> None:
    """A keg tops only barrels of its own family of mead: the first letters of their lots agree."""
    families: dict[str, set[str]] = {}
    for entry in log:
        for move in entry.moves:
            if entry.kind == "top" and move.source.startswith("K-") and not entry.struck_by:
                families.setdefault(entry.vessel, set()).add(move.source)
    assert families
    assert all(len(kegs) == 1 for kegs in families.values())


def test_some_rounds_are_due(standing: Any) -> None:
    """Two of the three rooms have not been walked for more than a month."""
    since: dict[str, list[float]] = {}
    for found in standing.barrels:
        if found.ml and found.vessel.barrel and found.days_since("top") is not None:
            since.setdefault(found.position[0], []).append(found.days_since("top"))
    assert min(since["Long"]) > 28
    assert min(since["Loft"]) > 28
    assert min(since["Low"]) < 5


# Each trouble below is findable from the book alone. A sound 200 L barrel at the dry end loses 12 % a year
# (common practice, no source), that is 2 L a month.


def test_one_barrel_leaks(log: Any) -> None:
    """B-025 takes more than 4 L a month, month after month, with the question answered 'sure'; nobody else does."""
    taken: dict[str, list[int]] = {}
    for entry in log:
        if entry.kind == "top" and not entry.struck_by and entry.happened_at > datetime(2026, 3, 1, tzinfo=UTC):
            taken.setdefault(entry.vessel, []).append(entry.said["volume"])
    assert len(taken["B-025"]) >= 8
    assert min(taken["B-025"]) >= 4000
    per_month = {tag: sum(volumes) / len(volumes) for tag, volumes in taken.items()}
    assert sorted(tag for tag, ml in per_month.items() if ml > 3000) == ["B-025"]


def test_one_barrel_is_low_in_sulphite(standing: Any) -> None:
    """B-033 alone is under its floor of molecular SO2."""
    low = [
        found.tag
        for found in standing.barrels
        if found.molecular_so2 is not None and found.molecular_so2 < found.vessel.upkeep.molecular_so2_floor_mg_l
    ]
    assert low == ["B-033"]


def test_volatile_acidity_climbs_in_one(log: Any, standing: Any) -> None:
    """B-028 climbed by more than half a gram in 2026, past its own ceiling; no other barrel is near."""
    values = read(log, "B-028", "va_g_l")
    assert values[-1] - values[-9] > 0.4
    assert values[-1] > standing["B-028"].vessel.upkeep.va_ceiling_g_l
    others = [found.value("va_g_l") or 0 for found in standing.barrels if found.tag != "B-028"]
    assert max(others) < 0.6


def test_one_dip_disagrees_with_the_book(log: Any, standing: Any) -> None:
    """B-009 was found 82 mm down, where the book expects it almost full: about 12 L; and it was never gauged."""
    barrel = standing["B-009"]
    assert read(log, "B-009", "headspace_mm") == [82.0]
    assert barrel.headspace_ml < 500
    assert expected_headspace(barrel.vessel, barrel.vessel.capacity_ml - 12_000) == pytest.approx(82, abs=4)
    assert not any(entry.kind == "gauge" and entry.vessel == "B-009" for entry in log)


def test_one_empty_barrel_is_forgotten(standing: Any) -> None:
    """B-034 has been empty for five months and nobody has smelled it; the other empty one was smelled this month."""
    empty = {found.tag: found for found in standing.barrels if not found.ml}
    assert set(empty) == {"B-017", "B-034"}
    assert empty["B-034"].days_empty > 150
    assert empty["B-034"].days_since("sniff") is None
    assert empty["B-017"].days_since("sniff") < 35


def test_a_spirit_barrel_raised_the_strength(log: Any, standing: Any) -> None:
    """B-027 held whiskey: its mead is read at least half a per cent stronger than its lot was."""
    barrel = standing["B-027"]
    assert barrel.vessel.barrel.held_spirit
    assert read(log, "B-027", "abv")[0] - standing.lots["BW-24"].abv >= 0.5


def solved(demo: Any, name: Any) -> Any:
    scores = on_one_scale(last_scores(demo))
    from tomllib import loads

    return solve_in_cellar(demo.cellar(), scores, loads(brief(name).read_text()))


@pytest.mark.parametrize("name", ["winter_bottling", "best_barrels"])
def test_two_briefs_can_be_met(demo: Any, name: str) -> None:
    """The ordinary brief and the best-score brief are solved, and the blend is within every limit."""
    answer = solved(demo, name)
    assert answer.status == "optimal"
    for figure, limit in read_brief(brief(name)).limits.items():
        assert limit.low - 1e-6 <= answer.blend[figure] <= limit.high + 1e-6


def test_one_brief_cannot_be_met(demo: Any) -> None:
    """The strong and dry brief is infeasible: strength and sugar clash."""
    answer = solved(demo, "strong_and_dry")
    assert answer.status == "infeasible"
    assert {clash.limit for clash in answer.conflict} == {"abv", "sugar_g_l"}


def test_made_again_it_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """The script kept beside the files writes them anew without a difference."""
    script = demo_folder() / "make_demo.py"
    subprocess.run([sys.executable, "-B", str(script), str(tmp_path)], check=True, capture_output=True)
    for name in ("facts", "vessels", "lots", "entries", "flights", "scores", "servings", "prices"):
        assert (tmp_path / f"{name}.csv").read_bytes() == (demo_folder() / f"{name}.csv").read_bytes()


def test_the_last_day_can_be_yesterday() -> None:
    """On 25 November 2026 the demo is shifted by four days, so that its last entry is on the 24th."""
    assert shift_to_yesterday(demo_folder(), datetime(2026, 11, 25, 8, tzinfo=UTC)) == 4


def test_tags_are_proof_against_chalk() -> None:
    """Tags are short and begin with letters that no chalk turns into digits (O, I)."""
    with (demo_folder() / "vessels.csv").open(encoding="utf-8") as file:
        tags = [row["tag"] for row in csv.DictReader(file)]
    assert all(len(tag) <= 5 and not set("OI") & set(tag) for tag in tags)
    assert len(set(tags)) == len(tags)


def test_its_orders_are_late_of_today_and_to_come_and_one_cannot_be_done(demo: Any) -> None:
    """A dose, a rack, a filling that has too little, a move, samples, a bottling; by the day after the story ends."""
    found = check_orders(demo)
    assert [each.order.kind for each in found] == ["addition", "rack", "fill", "shift", "sample", "bottle"]
    days = [(each.order.day - LAST_DAY.date()).days for each in found]
    assert days == [-1, 1, 1, 1, 2, 4]
    assert [each.verdict.value for each in found].count("impossible") == 1
    assert "T-4 holds 83.5 L" in found[2].why


def test_its_orders_move_with_its_days(demo_file: Path) -> None:
    """Today's orders are today's, whenever it is built."""
    book = Book.open(str(demo_file))
    found = check_orders(book)
    with book.reading() as connection:
        last = max(entry.happened_at for entry in entries(connection))
    book.close()
    assert [(each.order.day - last.date()).days for each in found] == [-1, 1, 1, 1, 2, 4]
