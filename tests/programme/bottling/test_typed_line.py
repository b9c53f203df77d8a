"""One line of a run: what it means, what it would write, what it refuses, and that it is written as one."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.errors import BadInput
from cooperage.programme.bottling.closing import read_retained
from cooperage.programme.bottling.errors import NoSuchLine
from cooperage.programme.bottling.opening import open_run
from cooperage.programme.bottling.run import BottlingRun, RunExpected, RunLine, RunLineKind
from cooperage.programme.bottling.stored import find_run
from cooperage.programme.bottling.typed_line import announced, parse_run_line, write_typed
from cooperage.programme.bottling_risks.risks import risks
from cooperage.units import DEFAULT, Units

COMMA = Units(decimal=",")
WHEN = datetime(2026, 11, 27, tzinfo=UTC)
FILLED = RunLine("r", 1, RunLineKind.FILLED, 750, 480)
RUN = BottlingRun(
    "r", "SALT", ("T-1",), {750: None, 375: 96}, 13.5, RunExpected(1, 1, 1, 1), "p", "Ada", WHEN, (FILLED,)
)
ONE = replace(RUN, sizes={750: None})


def meant(text: str, run: BottlingRun = ONE, units: Units = DEFAULT) -> list[Any]:
    found = []
    for part in parse_run_line(text, run, units):
        line, weighed = part.line, part.weighed
        values = (line.bottle_ml, line.bottles, line.ml, line.words, line.strikes, weighed and weighed.figures)
        found.append((line.kind.value, *(each for each in values if each not in (None, ""))))
    return found


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("48", [("filled", 750, 48)]),
        ("4x12+3", [("filled", 750, 51)]),
        ("filled 4x12", [("filled", 750, 48)]),
        ("reject 3; sample 200ml; loss 1.5l", [("rejects", 750, 3), ("sample", 200), ("line loss", 1500)]),
        ("closure cork 1204", [("closure", "cork 1204")]),
        ("Stop corker jammed", [("stop", "corker jammed")]),
        ("note clear, no haze", [("note", "clear, no haze")]),
        ("strike 1 wrong counter", [("struck", "wrong counter", 1)]),
        ("check 1255.5g 1254 tare 512", [("fill check", 750, (1255.5, 1254.0))]),
        ("check level -2 0 +1,5mm neck 18.5mm", [("fill check", 750, (-2.0, 0.0, 1.5))]),
        ("check 750.2 749.8ml at 18c", [("fill check", 750, (750.2, 749.8))]),
    ],
)
def test_a_line_means(text: str, parts: list[Any]) -> None:
    assert meant(text) == parts


def test_a_size_is_named_where_there_are_several() -> None:
    assert meant("4x12 375ml; reject 2 750 ml", RUN) == [("filled", 375, 48), ("rejects", 750, 2)]
    assert meant("check 374,8 375,1 ml size 375ml", RUN, COMMA) == [("fill check", 375, (374.8, 375.1))]
    for text in ("48", "48 500ml", "check 374 ml"):
        with pytest.raises(BadInput, match="SALT fills 750 mL, 375 mL"):
            parse_run_line(text, RUN, DEFAULT)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "type bottles"),
        ("rejct 3", "did you mean reject"),
        ("B-017", "is no word of a run"),
        ("reject", "needs what follows it: bottles"),
        ("check 1255 1254", "a check is grams"),
        ("check tare 512", "a check is grams"),
        ("check 750 ml tare 512", "a check is grams"),
        ("strike 2", "no line 2"),
        ("4x", "is no number of bottles"),
        ("4x12 reject 3", "a semicolon before what else"),
    ],
)
def test_what_is_not_understood_is_refused_with_what_to_type(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        parse_run_line(text, ONE, DEFAULT)


def test_what_would_be_written_is_announced_with_the_sum() -> None:
    parts = parse_run_line("4x12; reject 2; sample 0,2; strike 1 twice; check 1255 tare 512", ONE, COMMA)
    assert announced(parts, ONE, COMMA) == (
        "48 bottles of 750 mL filled, 528 in all · 2 bottles of 750 mL rejected, 2 in all · sample 0,2 L · "
        "strikes line 1, filled: twice · fill check of 1 bottle of 750 mL, by weight"
    )


def test_a_line_is_written_whole_or_not_at_all(cellar_book: Book) -> None:
    """The second part names a line that was struck meanwhile; bottles that were weighed are volumes in the book."""
    found = risks(cellar_book, ["T-1"], {750: None})
    run = open_run(cellar_book, "SALT", ["T-1"], {750: None}, found, {each.name: "settled" for each in found})
    run, _ = write_typed(cellar_book, run, parse_run_line("48; check 750.2 749.8 ml", run, DEFAULT), hand="Ada")
    assert run.checked(750) == [750.2, 749.8]
    late = parse_run_line("12; strike 1", run, DEFAULT)
    write_typed(cellar_book, run, parse_run_line("strike 1", run, DEFAULT))
    with pytest.raises(NoSuchLine):
        write_typed(cellar_book, run, late)
    with cellar_book.reading() as connection:
        stored = find_run(connection, "SALT")
    assert [(line.number, line.kind.value, line.hand) for line in stored.lines] == [
        (1, "filled", "Ada"),
        (2, "fill check", "Ada"),
        (3, "struck", ""),
    ]


def test_retained_bottles_are_of_every_size_or_by_size() -> None:
    assert read_retained("6", RUN, DEFAULT) == {750: 6}
    both = replace(RUN, lines=(FILLED, RunLine("r", 2, RunLineKind.FILLED, 375, 96)))
    assert read_retained("6", both, DEFAULT) == {750: 6, 375: 6}
    assert read_retained("750ml=12, 375ml=1x6", both, DEFAULT) == {750: 12, 375: 6}
    assert read_retained("0", both, DEFAULT) == {}
