"""The card of a stop: what matters stands on it whole, at 80 columns and at 60."""

from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.dangers.dangers import row_lines
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import level_now
from cooperage.programme.rounds.due import rounds
from cooperage.programme.walk.progress import open_walk
from cooperage.programme.walk.stops import stops_of
from cooperage.tui.rounds.card import CardOf, card
from cooperage.units import Units

NARROW, USUAL = (58, 10), (78, 13)
"""Columns inside the frame, and rows that three stops and two rows of answer leave: at 60x20 and at 80x24."""


@pytest.mark.slow
@pytest.mark.parametrize(("width", "rows"), [NARROW, USUAL])
def test_nothing_that_matters_is_cut(demo: Path, width: int, rows: int) -> None:
    """Of every stop of the demo: level, SO2 free and molecular, the leak, each task with its reason, the cautions."""
    book = Book.open(str(demo))
    cellar = cellar_now(book)
    rates = loss_rates(book, cellar)
    stops = stops_of(rounds(cellar, rates=rates), open_walk(book), cellar)
    book.close()
    assert any(stop.warning for stop in stops)
    for stop in stops:
        standing = cellar[stop.tag]
        level = stop.level or level_now(standing, rates.get(stop.tag))
        shown = card(CardOf(stop, standing, level, stop.keg or ""), width, rows, Units())
        seen = " ".join(" ".join(each.plain for each in shown.wrap(width)[:rows]).split())
        wanted = [task.why for task in stop.tasks] + [stop.warning]
        wanted += [line.partition(". ")[0].rstrip(".") for line in row_lines(stop.cautions)]
        wanted += ["licensed practice"] if stop.cautions else []
        wanted += ["level ", "free SO2 ", "molecular "] if standing.ml else ["empty for"]
        missing = [words for words in wanted if " ".join(words.split()) not in seen]
        assert not missing, (stop.tag, missing, seen)
