"""When a barrel is to be tasted next: every door says the same day, whatever was decided, tasted or set."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import cast

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ahead.outlook import outlook_of
from cooperage.programme.ready.definitions import define
from cooperage.programme.ready.readiness import looks_due, readiness
from cooperage.programme.ready.words import look_words
from cooperage.programme.rounds.due import Due, Task, all_coming, rounds
from cooperage.programme.search.marks import marks_of
from cooperage.programme.today.glance import today_of
from cooperage.programme.walk.paper_sheet import read_sheet
from tests.conftest import Clock


def tastings(due: list[Due]) -> Mapping[str, datetime]:
    return {each.barrel: each.due for each in due if each.task is Task.TASTE}


def agree(book: Book) -> None:
    """Hold every door against what `ready` shows, now."""
    cellar = cellar_now(book)
    ready = readiness(book, cellar)
    asked = tastings(all_coming(cellar, cellar.at, looks=looks_due(book, cellar)))
    assert {tag: each.next_look for tag, each in ready.items()} == asked
    overdue = {tag for tag, each in ready.items() if "overdue" in look_words(each, cellar.at)}
    due = {tag for tag, at in asked.items() if at <= cellar.at}
    assert overdue <= due
    assert all(cellar.at - asked[tag] < timedelta(days=1) for tag in due - overdue)  # of today
    assert set(tastings(rounds(cellar, looks=looks_due(book, cellar)))) == due
    marks = marks_of(book, cellar)
    assert {tag for tag, found in marks.due.items() if tastings(found)} == due
    assert sum(room.besides.get(Task.TASTE, 0) for room in today_of(book, cellar).walk.rooms) == len(due)
    for tag in ready:
        assert tastings(outlook_of(book, cellar, tag).coming) == {tag: asked[tag]}
    sheet = read_sheet(book, "\n".join(f"{tag} skip" for tag in ready), cellar.at)
    assert {line.stop.tag for line in sheet.lines if Task.TASTE in line.stop.all_tasks} == due


@pytest.mark.slow
@pytest.mark.usefixtures("learned_once")
def test_every_door_asks_for_the_same_look(tasted_book: Book) -> None:
    """Through half a year with a sample, a verdict, a quarantine, an interval of its own and a barrel never tasted."""
    book, clock = tasted_book, cast("Clock", tasted_book.now)
    define(book, "overall at least 13.5; oak at most 6")
    book.write(acts.Fill(vessel="B-4", source="T-1"))
    book.write(acts.Judge(vessel="B-3", verdict="quarantine"))
    clock.pass_days(30)
    agree(book)
    with book.writing() as session:
        session.set_upkeep("B-2", Upkeep(taste_every_days=35))
    book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=6))
    clock.pass_days(50)
    agree(book)
    for tag in ("B-1", "B-2"):
        book.write(acts.Sample(vessel=tag, volume=50))
    agree(book)
    clock.pass_days(90)
    agree(book)
