"""Every way a file can be wrong is one line that names file, line and column, and nothing is half-imported."""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from cooperage.book import Book
from cooperage.errors import AskedBack, BadInput, CooperageError, Refused
from cooperage.exchange import import_folder
from cooperage.exchange.errors import RefusedRow
from cooperage.units import Units

HEAD = "when,kind,vessel,volume,from,lot\n"
TOP = "2026-02-01,top,B-1,1 L,K-1,\n"

CELLS = [
    (
        "when,kind,vessel,volume,from\n2026-02-01,top,B-1,1.8 lt,K-1\n",
        "entries.csv line 2, column volume: '1.8 lt' is not a volume; type litres such as 1.8, or a unit: "
        "1800 mL, 0.5 gal",
    ),
    (
        "when,kind,vessel\n2026-02-30,treat,B-1\n",
        "entries.csv line 2, column when: '2026-02-30' is not a date or time; type one such as 2026-10-03, "
        "2026-10-03 14:30, today, yesterday 14:30 or 3 days ago",
    ),
    (
        "when,kind,vessel,treatment\n2026-02-01,treat,B-1,rinze\n",
        "entries.csv line 2, column treatment: 'rinze' is not one of the choices; did you mean rinse?",
    ),
    (
        "when,kind,vessel\n2026-02-01,topp,B-1\n",
        "entries.csv line 2, column kind: 'topp' is not one of the choices; did you mean top?",
    ),
    ("when,kind,vessel\n,sample,B-1\n", "entries.csv line 2, column when: is blank; it is needed here"),
    (
        "when,kind,vessel\n2026-02-01,sample,B-1\n",
        "entries.csv line 2, column volume: is blank; it is needed here",
    ),
    (
        "when,kind,vessel,volume,lees\n2026-02-01,sample,B-1,1,2\n",
        "entries.csv line 2, column lees: a sample has no such column; clear the cell",
    ),
    (
        "when,kind,vessel,property,value\n2026-02-01,reading,B-1,ph,acid\n",
        "entries.csv line 2, column value: 'acid' is not a number; type a plain number such as 3.45",
    ),
    (
        "when,kind,vessel,draws\n2026-02-01,blend,T-1,B-1 100 L\n",
        "entries.csv line 2, column draws: 'B-1 100 L' is no draw; write each as vessel=volume, with ; between: "
        "B-001=120 L; B-004=60 L",
    ),
    (
        "when,kind,vessel,volume,sure\n2026-02-01,sample,B-1,1,perhaps\n",
        "entries.csv line 2, column sure: 'perhaps' is neither yes nor no; write one of them, or leave the cell blank "
        "for no",
    ),
    (
        "when,kind,vessel,volume,id\n2026-02-01,sample,T-1,1,A_1\n",
        "entries.csv line 2, column id: 'A_1' is no id; use up to 64 small letters a to z, digits and hyphens",
    ),
    (
        "when,kind,vessel,volume,id\n2026-02-01,sample,T-1,1,a\n2026-02-01,sample,T-1,1,a\n",
        "entries.csv line 3, column id: stands there already in line 2; give each entry its own",
    ),
    (
        "when,kind,vessel,volume,written\n2026-02-02,sample,T-1,1,2026-02-01\n",
        "entries.csv line 2, column written: nothing is written before it has happened; correct one of the two",
    ),
    (
        "when,kind,vessel,room,bay\n2026-02-01,shift,B-1,Low,99999999999\n",
        "entries.csv line 2, column bay: '99999999999' is more than can be counted here; correct it",
    ),
    (
        f"when,kind,vessel,code,bottles\n2026-02-01,bottle,T-1,{'x' * 41},10\n",
        "entries.csv line 2, column code: 'xxxxxxxxxxxxxxxxxxxx…' is longer than 40 letters; shorten it",
    ),
    (
        'when,kind,vessel,room,note\n\n2026-02-01,shift,B-1,Low,"two\nlines"\n2026-02-01,shift,,Low,\n',
        "entries.csv line 5, column vessel: is blank; it is needed here",
    ),
]
SHAPES = [
    ("", "entries.csv is empty; its first line must name the columns"),
    ("\n \n", "entries.csv is empty; its first line must name the columns"),
    ("when,kind,kind\n", "entries.csv line 1: the column 'kind' stands there twice; keep one"),
    ("when,vessel\n", "entries.csv line 1: the column 'kind' is missing; entries need when, kind"),
    (HEAD + "2026-02-01,top,B-1,1,8,K-1,\n", "entries.csv line 2: has 7 cells where the header has 6"),
    (HEAD + TOP + "2026-02-01,top\n", "entries.csv line 3: has 2 cells where the header has 6"),
    ('when,kind,vessel\n2026-02-01,"top"x,B-1\n', "entries.csv line 2: ',' expected after '\"'; check its quotation"),
    ('when,kind,note\n2026-02-01,treat,"open\n', "entries.csv line 2: unexpected end of data; check its quotation"),
    (HEAD.strip() + ",\n" + TOP.strip() + ",x\n", "entries.csv line 2: cell 7 ('x') stands under no column name"),
    (b"when,kind,note\n2026-02-01,treat,caf\xe9\n", "entries.csv line 2: this is not UTF-8 text; save the file as CSV"),
    ("when,kind\n2026-02-01,treat".encode("utf-16"), "entries.csv line 1: this is not UTF-8 text; save the file as"),
    (b"when,kind\n2026-02-01,tr\0at\n", "entries.csv line 2: this is not plain text; save the file as CSV UTF-8"),
    ("when,kind,volum\n", "entries.csv line 1: there is no column 'volum' in entries; did you mean volume?"),
]
RULES = [
    ("2026-02-01,fill,B-1,,K-1,\n", Refused, "K-1 holds 40.0 L; 225.0 L cannot come out of it"),
    ("2026-02-01,fill,B-9,,K-1,\n", BadInput, "there is no vessel 'B-9'; did you mean B-1?"),
    ("2027-02-01,fill,B-1,,T-1,\n", Refused, "is in the future"),
    ("2026-02-01,sample,T-1,9 L,,\n", AskedBack, "is a lot for a sample of T-1. If this is right"),
    ("2026-02-01,receive,T-1,9 L,,XX\n", BadInput, "there is no lot 'XX'; the lots are HE"),
]


def refusal(book: Book, path: Any, **options: Any) -> Any:
    with pytest.raises(CooperageError) as caught:
        import_folder(book, path, **options)
    assert "\n" not in str(caught.value)
    return caught.value


@pytest.mark.parametrize(("text", "line"), CELLS)
def test_a_bad_cell_is_named_by_file_line_and_column(
    small: Book, folder: Callable[..., Path], contents: Callable[[Book], dict[str, Any]], text: Any, line: Any
) -> None:
    """One line says where and what to do, the status is that of bad input, and the book is as it was."""
    before = contents(small)
    error = refusal(small, folder(entries=text))
    assert str(error) == line
    assert error.exit_status == 2
    assert contents(small) == before


@pytest.mark.parametrize(("content", "begins"), SHAPES)
def test_a_misshapen_file_is_named_by_line(
    small: Book, folder: Callable[..., Path], contents: Callable[[Book], dict[str, Any]], content: Any, begins: Any
) -> None:
    """Headers, ragged rows, quotation marks, encodings and emptiness are told before anything is written."""
    before = contents(small)
    error = refusal(small, folder(entries=content))
    assert str(error).startswith(begins)
    assert error.exit_status == 2
    assert contents(small) == before


@pytest.mark.parametrize(("row", "family", "result"), RULES)
def test_a_rule_of_the_book_is_named_by_its_line_and_nothing_is_half_imported(
    small: Book,
    folder: Callable[..., Path],
    contents: Callable[[Book], dict[str, Any]],
    row: Any,
    family: Any,
    result: Any,
) -> None:
    """Good rows before the refused one are rolled back with it; the refusal keeps its family and exit status."""
    before = contents(small)
    error = refusal(small, folder(entries=HEAD + "2026-01-30,sample,T-1,1 L,,\n" + row))
    assert str(error).startswith("entries.csv line 3: ")
    assert result in str(error)
    assert isinstance(error, family)
    assert error.exit_status == (2 if family is BadInput else 1)
    assert contents(small) == before


def test_a_refused_row_is_told_in_the_persons_units(small: Book, folder: Callable[..., Path]) -> None:
    """Volumes in the refusal follow the units of whoever reads it; 40 L are 10.57 US gallons (NIST HB 44)."""
    error = refusal(small, folder(entries=HEAD + "2026-02-01,fill,B-1,,K-1,\n"))
    assert isinstance(error, RefusedRow)
    assert error.words(Units(volume="gal")).startswith("entries.csv line 2: K-1 holds 10.57 gal")


def test_what_is_asked_back_goes_in_with_yes_under_sure(small: Book, folder: Callable[..., Path]) -> None:
    """The line says which column answers the question, and that answer is taken."""
    odd = "2026-02-01,sample,T-1,9 L,,"
    error = refusal(small, folder(entries=HEAD + odd + "\n"))
    assert str(error).endswith("write yes in the column sure.")
    import_folder(small, folder(entries=HEAD.strip() + ",sure\n" + odd + ",yes\n"))
    assert small.cellar()["T-1"].ml == 791_000  # 800 L less 9 L


OTHERS = [
    (
        "vessels",
        "tag,kind\nB-7,barrel\n",
        "vessels.csv line 1: the column 'capacity' is missing; vessels need tag",
    ),
    (
        "vessels",
        "tag,kind,capacity\nB-7,barrel,0\n",
        "vessels.csv line 2, column capacity: a vessel must hold",
    ),
    (
        "vessels",
        "tag,kind,capacity,wood\nT-7,tank,9,oak\n",
        "vessels.csv line 2, column wood: only a barrel has",
    ),
    (
        "vessels",
        "tag,kind,capacity\nB;7,barrel,9\n",
        "vessels.csv line 2, column tag: a tag cannot hold ; or =",
    ),
    ("vessels", "tag,kind,capacity\nB-1,barrel,9\n", "vessels.csv line 2: vessel 'B-1' is in the book already"),
    ("vessels", "tag,kind,capacity\nb-7,keg,9\nB-7,keg,8\n", "vessels.csv line 3: vessel 'B-7' is in the book already"),
    (
        "vessels",
        "tag,kind,capacity,id\nB-7,keg,9,leak\n",
        "vessels.csv line 2, column id: 'leak' is no id; use up",
    ),
    (
        "vessels",
        "tag,kind,capacity,top_from\nB-7,barrel,9,K-9\n",
        "vessels.csv line 2, column top_from: there is no",
    ),
    (
        "vessels",
        "tag,kind,capacity,fills_before\nB-7,barrel,9,-1\n",
        "vessels.csv line 2, column fills_before: '-1' is",
    ),
    ("lots", "code,name\nHE,Other\n", "lots.csv line 2: lot 'HE' is in the book already"),
    ("facts", "fact,value\ncolour,red\n", "facts.csv line 2, column fact: 'colour' is not one of the choices"),
    ("facts", "fact,value\nhumidity,wet\n", "facts.csv line 2: 'wet' is not a percentage"),
    ("facts", "fact,value\nhumidity,5\n", "facts.csv line 2: usual relative humidity 5.0 % is not possible"),
    (
        "facts",
        "fact,value\nname,Low\nhumidity,80\nhumidity,70\n",
        "facts.csv line 4: the cellar's humidity is 80.0 % already; change it with",
    ),
    (
        "lots",
        "code,name,final_sg\nX,Y,3\n",
        "lots.csv line 2, column final_sg: '3' is not a gravity; type specific",
    ),
    (
        "flights",
        "code,scale,poured\nF,ten,today\n",
        "flights.csv line 2: 'ten' is not a scale; give the lowest",
    ),
    (
        "scores",
        "flight,glass\nF,417\n",
        "scores.csv line 2, column flight: there is no flight 'F'; the flights are",
    ),
]


@pytest.mark.parametrize(("name", "text", "begins"), OTHERS)
def test_the_other_files_are_checked_alike(
    small: Book,
    folder: Callable[..., Path],
    contents: Callable[[Book], dict[str, Any]],
    name: Any,
    text: Any,
    begins: Any,
) -> None:
    """Vessels, lots and tastings are refused with the same care."""
    before = contents(small)
    assert str(refusal(small, folder(**{name: text}))).startswith(begins)
    assert contents(small) == before


SCORES = [
    ("F,417,1,T-1,Ada,21,", "scores.csv line 2, column score: 21 is not on the scale 0-20; give a score from 0 to 20"),
    ("F,417,1,T-9,Ada,2,", "scores.csv line 2: there is no vessel 'T-9'; did you mean T-1?"),
    ("F,417,1,T-1,,2,", "scores.csv line 2, column taster: is blank; name who gave the score"),
    ("F,417,1,T-1,Ada,2,\nF,417,1,K-1,Bo,2,", "scores.csv line 3, column vessel: glass 417 held something else in an"),
    (
        "F,41777777777,1,T-1,Ada,2,",
        "scores.csv line 2, column glass: '41777777777…' is longer than 10 letters",
    ),
]


@pytest.mark.parametrize(("rows", "begins"), SCORES)
def test_scores_are_checked_against_flight_vessel_and_scale(
    small: Book, folder: Callable[..., Path], rows: Any, begins: Any
) -> None:
    """A score off the scale, of no vessel, by nobody, or of a glass that changed, is named by its line."""
    flights = "code,scale,poured\nF,0-20,2026-02-01\n"
    path = folder(flights=flights, scores=f"flight,glass,position,vessel,taster,score,words\n{rows}\n")
    assert str(refusal(small, path)).startswith(begins)


def test_there_must_be_something_to_import(small: Book, tmp_path: Path) -> None:
    """A path that is not there, and a folder with no file of a cellar, are said to be so."""
    assert str(refusal(small, tmp_path / "gone")).startswith(f"there is no file or folder {tmp_path / 'gone'}")
    (tmp_path / "empty").mkdir()
    assert "holds none of vessels.csv, lots.csv" in str(refusal(small, tmp_path / "empty"))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
def test_a_file_that_may_not_be_read_is_said_to_be_so(small: Book, folder: Callable[..., Path]) -> None:
    """A permission is one line too."""
    path = folder(entries=HEAD)
    (path / "entries.csv").chmod(0)
    assert "cannot be read (Permission denied)" in str(refusal(small, path))


def test_a_single_file_is_recognised_by_its_header(small: Book, tmp_path: Path) -> None:
    """A file of any name is what its columns say; one with nobody's columns is told what each file needs."""
    (tmp_path / "walk of monday.csv").write_text("when,kind,vessel,volume\n2026-02-01,sample,T-1,1\n")
    assert import_folder(small, tmp_path / "walk of monday.csv").counts == {"entries": 1}
    (tmp_path / "list.csv").write_text("colour,shape\nred,round\n")
    assert str(refusal(small, tmp_path / "list.csv")).startswith(
        "list.csv line 1: no file of a cellar has these columns; give it those of one (vessels: tag, kind, capacity; "
    )


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbfwhen,kind,vessel,volume\r\n2026-02-01,sample,T-1,1.5 L\r\n",
        b"When;Kind;Vessel;Volume\n2026-02-01;sample;t-1;1,5 L\n",
        b"when\tkind\tvessel\tvolume\n2026-02-01\tsample\tT-1\t1500 ml\n\n\n",
        b'when,kind,vessel,volume\n2026-02-01,SAMPLE,"T-1","1,5"\n',
        b" when , kind , vessel , volume ,,\n 2026-02-01 , sample , T-1 , 1.5 L ,,\n,,,,,\n",
    ],
    ids=["BOM and CRLF", "semicolons and decimal comma", "tabs", "quotation marks", "spaces and blank columns"],
)
def test_the_ways_spreadsheets_write_are_all_read(small: Book, folder: Callable[..., Path], content: bytes) -> None:
    """Each of these files says that 1.5 L were sampled from 800 L."""
    import_folder(small, folder(entries=content))
    assert small.cellar()["T-1"].ml == 798_500


def test_a_workbook_is_read_with_its_own_numbers_and_dates(small: Book, tmp_path: Path) -> None:
    """Dates, numbers and truth values of a workbook are taken as they are; its errors name sheet and line."""
    book = Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = "Entries"
    for row in (("when", "kind", "vessel", "volume", "sure"), (datetime(2026, 2, 1), "sample", "T-1", 2.0, True)):
        sheet.append(row)
    book.save(tmp_path / "year.xlsx")
    import_folder(small, tmp_path / "year.xlsx")
    assert small.cellar()["T-1"].ml == 798_000  # 800 L less 2 L
    sheet.append((datetime(2026, 2, 1), "sample", "T-1", "much", None))
    book.save(tmp_path / "year.xlsx")
    assert str(refusal(small, tmp_path / "year.xlsx")).startswith(
        "year.xlsx, sheet entries, line 3, column volume: 'much' is not a volume"
    )
    (tmp_path / "no.xlsx").write_text("text")
    assert "no.xlsx is no workbook that can be read" in str(refusal(small, tmp_path / "no.xlsx"))


def test_rows_are_written_in_the_order_they_happened(small: Book, folder: Callable[..., Path]) -> None:
    """Without a time of writing the file may be in any order: the top of March comes after the fill of February."""
    rows = "2026-03-01,top,B-1,1 L,K-1,\n2026-02-01,fill,B-1,,T-1,\n"
    import_folder(small, folder(entries=HEAD + rows))
    standing = small.cellar()["B-1"]
    assert (standing.ml, standing.last("fill")) == (225_000, datetime(2026, 2, 1, 12).astimezone(UTC))


def test_with_times_of_writing_rows_are_written_in_that_order(
    small: Book, folder: Callable[..., Path], contents: Callable[[Book], dict[str, Any]]
) -> None:
    """The half litre that happened first was written last, as a late entry."""
    rows = "2026-02-01,sample,T-1,0.5,2026-02-03\n2026-02-02,sample,T-1,1,2026-02-02\n"
    import_folder(small, folder(entries="when,kind,vessel,volume,written\n" + rows))
    assert [entry.moves[0].ml for entry in contents(small)["entries"] if entry.kind == "sample"] == [1000, 500]
    assert small.cellar()["T-1"].ml == 798_500  # 800 L less both


def test_a_strike_in_a_file_names_an_entry_of_the_file(small: Book, folder: Callable[..., Path]) -> None:
    """An entry with an id of one's own can be struck by a later row; ids alone leave the rows in order of time."""
    rows = "2026-02-01,sample,T-1,1,z-last,\n2026-02-02,strike,,,a-first,z-last\n"
    import_folder(small, folder(entries="when,kind,vessel,volume,id,entry\n" + rows))
    assert small.cellar()["T-1"].ml == 800_000


def test_a_dry_run_checks_everything_and_writes_nothing(
    small: Book, folder: Callable[..., Path], contents: Callable[[Book], dict[str, Any]]
) -> None:
    """A dry run counts what would go in, finds what would be refused, and leaves the book as it was."""
    before = contents(small)
    path = folder(entries=HEAD + "2026-02-01,fill,B-1,,T-1,\n")
    done = import_folder(small, path, dry_run=True)
    assert done.counts == {"entries": 1}
    assert done.notes == ["this was a dry run: everything fits, and nothing was written"]
    assert contents(small) == before
    refusal(small, folder(entries=HEAD + "2026-02-01,fill,B-1,,K-1,\n"), dry_run=True)


def test_blank_is_unknown_and_not_zero(small: Book, folder: Callable[..., Path]) -> None:
    """A barrel of which little is told has unknown fills and an unknown cost."""
    import_folder(
        small, folder(vessels="tag,kind,capacity,fills_before,cost\nB-7,barrel,200,,\n", lots="code,name\nX,Y\n")
    )
    standing = small.cellar()["B-7"]
    assert standing.fill_number is None
    assert standing.vessel.barrel is not None
    assert (standing.vessel.barrel.cost, standing.vessel.capacity_how) == (None, "unknown")


def test_progress_is_told_row_by_row(small: Book, folder: Callable[..., Path]) -> None:
    """Whoever shows a bar is told how many rows of how many are done."""
    result = []
    path = folder(entries=HEAD + "2026-02-01,fill,B-1,,T-1,\n2026-02-02,sample,B-1,1,,\n")
    import_folder(small, path, progress=lambda done, in_all: result.append((done, in_all)))
    assert result == [(1, 2), (2, 2)]


def test_every_date_can_be_shifted(small: Book, folder: Callable[..., Path]) -> None:
    """With ten days' shift an entry of 1 February happens on the 11th."""
    import_folder(small, folder(entries=HEAD + "2026-02-01,fill,B-1,,T-1,\n"), shift_days=10)
    assert small.cellar()["B-1"].last("fill") == datetime(2026, 2, 11, 12).astimezone(UTC)
