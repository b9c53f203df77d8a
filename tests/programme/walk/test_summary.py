"""What a walk came to: kegs that run short, and signs in the person's units. The sums are tested with the screens."""

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.rounds.due import Task
from cooperage.programme.walk.progress import open_walk
from cooperage.programme.walk.stops import Stop, StopTask
from cooperage.programme.walk.summary import summarise_walk
from cooperage.units import Units


def test_a_keg_that_holds_less_than_the_open_stops_want_is_named(cellar_book: Book) -> None:
    """K-1 is left with 1.5 L; two stops still want 1 L each of it, a done one no longer counts."""
    walk = open_walk(cellar_book)
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=38_500))
    stops = [
        Stop(tag, (None, None, None, None), (StopTask(Task.TOP, state=state, expected_ml=1_000),), "K-1")
        for tag, state in (("B-1", ""), ("B-2", ""), ("B-3", "done"))
    ]
    summary = summarise_walk(cellar_book, walk, stops)
    assert summary.short == {"K-1": 500}
    assert summarise_walk(cellar_book, walk, stops[2:]).short == {}


def test_flagged_barrels_are_those_walked_past(cellar_book: Book) -> None:
    """A barrel left partly full is flagged where the walk passed it, in the person's units."""
    walk = open_walk(cellar_book)
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", volume=100_000))
    stop = Stop("B-1", (None, None, None, None), (StopTask(Task.TOP),))
    (sign,) = summarise_walk(cellar_book, walk, [stop], Units(volume="gal")).flagged
    assert "26.42 gal of air" in sign.why  # 100 L / 3.785412
    assert summarise_walk(cellar_book, walk, []).flagged == []
