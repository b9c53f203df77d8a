"""No text enters the book that a terminal would not show as it was typed, by any door and in any field."""

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pytest

from cooperage.book import Barrel, Book, Lot, Upkeep, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.allowed import rules_of
from cooperage.book.declared.fields import Holds
from cooperage.book.facts import FACTS, set_fact
from cooperage.errors import BadInput
from cooperage.tasting.flights import score, start_flight

HIDDEN = ["a\x1b]0;gone\x07", "a\x00b", "a\x7fb", "a\x9bb", "a\u202eb", "a\u2028b", "a\ufeffb", "a\ud800b"]
VALUES: dict[type[acts.Act], dict[str, Any]] = {
    acts.Receive: {"lot": "HEATHER", "vessel": "T-1", "volume": 1},
    acts.Reading: {"property": "abv", "value": 13.0},
    acts.Addition: {"substance": "honey", "amount": 1.0},
    acts.Climate: {"room": "Low", "temperature": 12.0, "humidity": 70.0},
    acts.LotCost: {"lot": "HEATHER", "cost_per_l": 7.2},
    acts.LotEnd: {"lot": "HEATHER"},
    acts.Shift: {"room": "Low"},
    acts.Blend: {"vessel": "T-2", "draws": (("T-1", 10),)},
    acts.Bottle: {"code": "NIGHT", "bottles": 1},
    acts.Stow: {"code": "NIGHT", "bottles": 1, "store": "Loft"},
    acts.Remove: {"code": "NIGHT", "bottles": 1, "went": "sold"},
    acts.TakeBack: {"code": "NIGHT", "bottles": 1},
    acts.Stocktake: {"code": "NIGHT", "bottles": 1},
    acts.PourBack: {"code": "NIGHT", "bottles": 1},
    acts.Retire: {"vessel": "B-2", "reason": "leaks"},
    acts.Strike: {"entry": "last"},
    acts.Treat: {"treatment": "taste"},
    acts.Rack: {"vessel": "T-1", "destination": "T-2"},
    acts.Fill: {"vessel": "B-2", "source": "T-1"},
    acts.Top: {"source": "K-1", "volume": 100},
    acts.Sample: {"volume": 10},
    acts.Judge: {"verdict": "keep"},
}


def sound(kind: type[acts.Act]) -> acts.Act:
    named = {declared.name for declared in fields(kind)}
    usual: dict[str, Any] = {"vessel": "B-1"} if "vessel" in named else {}
    return kind(**usual | VALUES.get(kind, {}), sure=True)


@pytest.mark.slow
@pytest.mark.parametrize("kind", acts.KINDS.values(), ids=lambda kind: kind.kind)
def test_every_text_of_every_kind_of_entry_is_looked_at(cellar_book: Book, kind: type[acts.Act]) -> None:
    """The hand, the note and each text of its own, with a control, C1, bidi or invisible character in it."""
    texts = [declared.name for declared, face in acts.faces(kind) if face.holds in (Holds.TEXT, Holds.CHOICE)]
    newest = cellar_book.newest_id()
    for name in ("hand", "note", *texts):
        for hidden in HIDDEN:
            texts_with: dict[str, Any] = {name: hidden}
            with pytest.raises(BadInput, match="type it without"):
                cellar_book.write(replace(sound(kind), **texts_with))
    for name in ("hand", *(text for text in texts if text != "plan")):
        texts_with = {name: "a\nb"}
        with pytest.raises(BadInput, match="line break"):
            cellar_book.write(replace(sound(kind), **texts_with))
    assert cellar_book.newest_id() == newest


def texts_of(kind: Any) -> list[str]:
    return [declared.name for declared in fields(kind) if declared.type in (str, str | None) and declared.name != "id"]


@pytest.mark.parametrize(
    ("register", "kind"),
    [
        (lambda session, said: session.add_vessel(replace(Vessel("", "N-1", "barrel", 1000), **said)), Vessel),
        (lambda session, said: session.add_vessel(Vessel("", "N-1", "barrel", 1000, barrel=Barrel(**said))), Barrel),
        (lambda session, said: session.set_upkeep("B-1", Upkeep(**said)), Upkeep),
        (lambda session, said: session.add_lot(replace(Lot("", "NEW", "new"), **said)), Lot),
    ],
    ids=["vessel", "barrel", "upkeep", "lot"],
)
def test_every_text_of_what_is_registered_is_looked_at(
    cellar_book: Book, register: Callable[..., Any], kind: Any
) -> None:
    """Each field that holds a text has a rule, and the rule refuses what would not show."""

    def write(said: Any) -> None:
        with cellar_book.writing() as session:
            register(session, said)

    assert set(texts_of(kind)) <= set(rules_of(kind))
    for name in texts_of(kind):
        for hidden in HIDDEN:
            with pytest.raises(BadInput):
                write({name: hidden})
    if kind is Vessel:
        for place in range(2):
            with pytest.raises(BadInput):
                write({"position": tuple(HIDDEN[0] if at == place else None for at in range(4))})


@pytest.mark.parametrize("hidden", HIDDEN)
def test_the_words_of_a_tasting_and_the_facts_are_looked_at(cellar_book: Book, hidden: Any) -> None:
    """The code and name of a flight, what is in a glass, who tasted, the words, the name of the cellar."""
    poured = start_flight(cellar_book, ["B-1"], code="F-1")
    glass = poured.glasses[0].code

    def name_cellar() -> None:
        with cellar_book.writing() as session:
            set_fact(session.connection, FACTS["name"], hidden)

    for work in (
        lambda: start_flight(cellar_book, ["B-1"], code=hidden),
        lambda: start_flight(cellar_book, ["B-1"], name=hidden),
        lambda: start_flight(cellar_book, [], trials={"123": hidden}),
        lambda: start_flight(cellar_book, [], trials={hidden: "B-1"}),
        lambda: score(cellar_book, "F-1", glass, hidden, 12.0),
        lambda: score(cellar_book, "F-1", glass, "Ada", 12.0, hidden),
        name_cellar,
    ):
        if hidden == "a\u2028b" and work is name_cellar:
            continue  # a space like any other, and made one
        with pytest.raises(BadInput):
            work()
