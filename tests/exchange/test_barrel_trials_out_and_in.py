"""Trials across barrels go out and come back, blind flights too; a copy holds them."""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.exchange.errors import ManyProblems, Placed
from cooperage.exchange.sealing import unseal
from cooperage.exchange.tables.columns import FILES
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.kept import barrel_trials, keep_trial, withdraw_trial
from cooperage.programme.compared.planning import AskedOfTrial, plan_trial
from cooperage.programme.compared.pouring import pour_sitting
from cooperage.programme.compared.trial import TrialTreatment
from cooperage.tasting.flights import flight

TAGS = ("B-1", "B-2", "B-3", "B-4")


@pytest.fixture
def tried(fresh_sqlite: Callable[[], Book]) -> Book:
    """A trial with a blind flight, and one of readings that was withdrawn."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=800_000))
    for tag in TAGS:
        book.write(acts.Fill(vessel=tag, source="T-1"))
    treatments = [TrialTreatment("weekly", "topped; 'often'"), TrialTreatment("monthly")]
    cellar = cellar_now(book)
    barrels = [cellar[tag] for tag in TAGS]
    read = AskedOfTrial("does it turn?", "VA", treatments, measure="va", difference="0.1", seed=2**31 - 1)
    keep_trial(book, plan_trial(book, cellar, barrels, read).trial)
    withdraw_trial(book, "VA", "the meter broke", hand="Ada")
    tasted = AskedOfTrial("is it fresher?", "TOP", treatments, tasters=["Ada", "Iko"], measure="oak", hand="Ada")
    keep_trial(book, plan_trial(book, cellar, barrels, tasted).trial)
    pour_sitting(book, "TOP")
    return book


def test_they_come_back_as_they_were(tried: Book, fresh: Callable[[], Book], tmp_path: Path) -> None:
    """As a folder and as a workbook; a second time nothing is new."""
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(tried, path)
        other = fresh()
        import_folder(other, path)
        assert barrel_trials(other) == barrel_trials(tried)
        assert barrel_trials(other)[0].is_blind
        assert import_folder(other, path).counts == dict.fromkeys(FILES, 0)


def test_no_line_of_the_file_ties_a_code_to_a_vessel(tried: Book, tmp_path: Path) -> None:
    export_folder(tried, tmp_path / "out")
    with (tmp_path / "out" / "barrel_trials.csv").open(newline="") as file:
        rows = {row["code"]: row for row in csv.DictReader(file)}
    cells = [cell for row in rows.values() for cell in row.values() if "B-1" in cell]
    assert cells
    assert not any(glass.code in cell for glass in flight(tried, "TOP-1").glasses for cell in cells)
    assert not rows["TOP"]["barrels"]
    assert not rows["VA"]["sealed"]


def test_a_broken_seal_is_refused_where_it_stands(tried: Book, fresh: Callable[[], Book], tmp_path: Path) -> None:
    """Of another trial it opens nothing."""
    export_folder(tried, tmp_path / "out")
    path = tmp_path / "out" / "barrel_trials.csv"
    path.write_text(path.read_text().replace("TOP,", "TIP,"))
    other = fresh()
    with pytest.raises(Placed, match=r"barrel_trials\.csv line 3.*sealed.*the seal is broken"):
        import_folder(other, tmp_path / "out")
    assert barrel_trials(other) == []


def test_what_became_of_a_trial_since_comes_too(tried: Book, fresh: Callable[[], Book], tmp_path: Path) -> None:
    """A book that has the trial gets its withdrawal; one that has another of its id is refused."""
    export_folder(tried, tmp_path / "before")
    other = fresh()
    import_folder(other, tmp_path / "before")
    withdraw_trial(tried, "TOP", "enough")
    export_folder(tried, tmp_path / "after")
    assert import_folder(other, tmp_path / "after").counts["barrel_trials"] == 1
    assert barrel_trials(other) == barrel_trials(tried)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("barrels", '[["B-1", "all", 0]]'),
        ("barrels", '[["B-1", "all", 0], ["B-2", "all", 1], ["B-3", "all", 7], ["B-4", "all", 1]]'),
        ("barrels", "B-1"),
        ("treatments", '{"a": 1}'),
        ("sittings", '[["soon", ["all"]]]'),
        ("sittings", '[["2026-11-27", ["elsewhere"]]]'),
        ("stated", "{}"),
        ("flights", '{"9": "TOP-1"}'),
        ("flights", '{"1": "NONE"}'),
        ("question", ""),
    ],
)
def test_a_row_that_is_no_trial_is_refused_in_one_line(
    tried: Book, fresh: Callable[[], Book], tmp_path: Path, column: str, value: str
) -> None:
    export_folder(tried, tmp_path / "out")
    path = tmp_path / "out" / "barrel_trials.csv"
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    [changed] = [row for row in rows if row["code"] == "TOP"]
    changed |= unseal({name: text for name, text in changed.items() if text}) | {"sealed": ""}
    changed[column] = value
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(changed))
        writer.writeheader()
        writer.writerows(rows)
    other = fresh()
    with pytest.raises((Placed, ManyProblems), match=r"barrel_trials\.csv"):
        import_folder(other, tmp_path / "out")
    assert barrel_trials(other) == []


def test_a_copy_holds_them(tried: Book, tmp_path: Path) -> None:
    counts = copy_book(tried, str(tmp_path / "copy.db"))
    assert (counts["barrel_trial"], counts["barrel_trial_barrel"]) == (2, 8)
    other = Book.open(str(tmp_path / "copy.db"))
    assert barrel_trials(other) == barrel_trials(tried)
    other.close()
