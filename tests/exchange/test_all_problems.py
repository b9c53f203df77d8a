"""All that is wrong with files is found before anything is refused: in one message, and nothing is written."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cooperage.book import Book
from cooperage.cli import main
from cooperage.errors import CooperageError
from cooperage.exchange import import_folder
from cooperage.exchange.errors import BadCell, ManyProblems, ManyRefused, RefusedRow

HEAD = "when,kind,vessel,volume,from,lot\n"


def problems(book: Book, path: Path) -> list[str]:
    """What is told when a folder is refused, a line each, without the heading."""
    with book.reading() as connection:
        before = connection.exec_driver_sql("SELECT count(*) FROM entry").scalar_one()
    with pytest.raises(CooperageError) as caught:
        import_folder(book, path)
    with book.reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM entry").scalar_one() == before
    words = str(caught.value).splitlines()
    return words[1:] if isinstance(caught.value, ManyProblems) else words


def test_problems_of_all_files_are_told_at_once(small: Book, folder: Callable[..., Path]) -> None:
    """A header, cells of three files, an order: by file and line, and how many there are."""
    path = folder(
        vessels="tag,kind,capacity\nX-1,barrell,225\nX-2,barrel,wide\n",
        lots="code,nam\nXX,Clover\n",
        entries=HEAD + "2026-02-01,topp,B-1,1 L,K-1,\nnever,top,B-1,1 L,K-1,\n",
        orders="number,day,kind,fields,written\n1,27 Nov,treat,{},2026-11-26\n",
    )
    with pytest.raises(ManyProblems) as caught:
        import_folder(small, path)
    assert str(caught.value).startswith("6 problems; nothing was imported\n")
    told = str(caught.value).splitlines()[1:]
    places = [line.split(":")[0] for line in told]
    assert places == [
        "lots.csv line 1",
        "vessels.csv line 2, column kind",
        "vessels.csv line 3, column capacity",
        "entries.csv line 2, column kind",
        "entries.csv line 3, column when",
        "orders.csv line 2, column day",
    ]
    assert problems(small, path) == told


def test_one_problem_is_told_as_it_is(small: Book, folder: Callable[..., Path]) -> None:
    """By its own kind of error."""
    with pytest.raises(BadCell):
        import_folder(small, folder(entries=HEAD + "2026-02-01,topp,B-1,1 L,K-1,\n"))


def test_what_the_book_refuses_is_told_once_and_not_what_follows_from_it(
    small: Book, folder: Callable[..., Path]
) -> None:
    """B-1 was not filled, so its topping may be right; a tag that is not there is told once."""
    path = folder(
        entries=HEAD
        + "2026-11-20,fill,B-1,2000 L,T-1,\n"
        + "2026-11-21,top,B-1,1 L,K-1,\n"
        + "2026-11-20,sample,B-9,1 L,,\n"
        + "2026-11-20,sample,K-1,900 L,,\n"
    )
    with pytest.raises(ManyProblems) as caught:
        import_folder(small, path)
    assert [line.split(":")[0] for line in str(caught.value).splitlines()[1:]] == [
        "entries.csv line 2",
        "entries.csv line 4",
        "entries.csv line 5",
    ]


def test_only_refusals_are_a_refusal(small: Book, folder: Callable[..., Path]) -> None:
    """Its exit status is that of a rule of the book, as it is for one."""
    rows = "2026-11-20,fill,B-1,2000 L,T-1,\n", "2026-11-20,sample,K-1,900 L,,\n"
    with pytest.raises(RefusedRow) as one:
        import_folder(small, folder(entries=HEAD + rows[0]))
    with pytest.raises(ManyRefused) as both:
        import_folder(small, folder(entries=HEAD + "".join(rows)))
    assert (one.value.exit_status, both.value.exit_status) == (1, 1)


@pytest.mark.parametrize(("count", "heading"), [(30, "30 problems"), (2000, "more than 500 problems")])
def test_the_list_is_bounded(small: Book, folder: Callable[..., Path], count: int, heading: str) -> None:
    """The first eight are told, and how many more there are; very many are not looked for to the end."""
    told = folder(entries=HEAD + "2026-02-01,topp,B-1,1 L,K-1,\n" * count)
    with pytest.raises(ManyProblems) as caught:
        import_folder(small, told)
    words = str(caught.value).splitlines()
    assert words[0] == f"{heading}; nothing was imported"
    assert len(words) == 10
    assert words[-1].startswith("and ")


def test_a_vessel_that_could_not_be_read_is_not_missed_by_every_entry(small: Book, folder: Callable[..., Path]) -> None:
    """Its own line says what is wrong."""
    path = folder(
        vessels="tag,kind,capacity\nX-1,barrel,wide\n",
        entries=HEAD + "2026-11-20,fill,X-1,,T-1,\n2026-11-21,top,X-1,1 L,K-1,\n",
    )
    assert [line.split(":")[0] for line in problems(small, path)] == ["vessels.csv line 2, column capacity"]


def test_the_command_tells_them_a_line_each(tmp_path: Path, folder: Callable[..., Path]) -> None:
    """On standard error; no text of a cell makes a line of its own."""
    place, path = tmp_path / "new.db", folder(lots='code,name,abv\nXX,Clover,"a\nb"\nYY,Clover,much\n')
    done: Any = CliRunner().invoke(main, ["--cellar", str(place), "import", str(path)])
    assert done.exit_code == 2
    assert [line.split(":")[0] for line in done.stderr.splitlines()] == [
        "cooperage",
        "lots.csv line 2, column abv",
        "lots.csv line 4, column abv",
    ]
    assert not place.exists()


def test_a_question_is_told_and_what_follows_is_tried_as_if_it_were_answered(
    small: Book, folder: Callable[..., Path]
) -> None:
    """A large sample may be right; a later row of the same vessel is still looked at."""
    path = folder(entries=HEAD + "2026-11-20,sample,T-1,9 L,,\n2026-11-21,sample,T-1,900 L,,\n")
    told = problems(small, path)
    assert [line.split(":")[0] for line in told] == ["entries.csv line 2", "entries.csv line 3"]
