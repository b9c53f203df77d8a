"""Acts from words and back: what forms, commands and CSV rows share."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField, UnknownKind, exact_texts, format_act, parse_act, restore_act
from cooperage.book.writing.write import words_of
from cooperage.units import Units

NOW = datetime(2026, 10, 3, 9, 0, tzinfo=UTC)
names = (
    st.text(st.characters(categories=["L", "N"], include_characters="- "), min_size=1, max_size=12)
    .map(str.strip)
    .filter(bool)
)
volumes = st.integers(1, 10**9)
amounts = st.floats(0.001, 1e6)


def measured(most: float) -> st.SearchStrategy[float]:
    """What an instrument can show: nothing, or something not vanishingly small."""
    return st.just(0.0) | st.floats(1e-6, most)


any_act = st.one_of(
    st.builds(acts.Receive, lot=names, vessel=names, volume=volumes),
    st.builds(acts.Fill, vessel=names, source=names, volume=st.none() | volumes),
    st.builds(
        acts.Top,
        vessel=names,
        volume=volumes,
        source=names,
        not_full=st.booleans(),
        cause=st.sampled_from(["", "leak"]),
    ),
    st.builds(
        acts.Rack,
        vessel=names,
        destination=names,
        volume=st.none() | volumes,
        lees=st.integers(0, 9999),
        empties=st.booleans(),
    ),
    st.builds(acts.Gauge, vessel=names, volume=st.none() | volumes, headspace=st.none() | measured(3000)),
    st.builds(acts.Sample, vessel=names, volume=volumes),
    st.builds(
        acts.Reading,
        vessel=names,
        property=st.just("abv"),
        value=measured(96),
        uncertainty=st.none() | measured(3),
    ),
    st.builds(acts.Addition, vessel=names, substance=st.sampled_from(["honey", "metabisulphite"]), amount=amounts),
    st.builds(acts.Treat, vessel=names, treatment=st.sampled_from(["rinse", "stir"])),
    st.builds(acts.Shift, vessel=names, room=names, row=st.just("") | names, bay=st.none() | st.integers(0, 99)),
    st.builds(acts.Blend, vessel=names, draws=st.lists(st.tuples(names, volumes), min_size=1, max_size=4).map(tuple)),
    st.builds(acts.Bottle, vessel=names, code=names, bottles=st.integers(1, 9999), bottle=st.integers(50, 5000)),
    st.builds(
        acts.Retire, vessel=names, reason=names, disposition=st.just("") | names, received=st.none() | measured(1e6)
    ),
    st.builds(acts.Strike, entry=names),
)


@given(act=any_act)
def test_what_is_spoken_is_heard(act: Any) -> None:
    """Every act, written as texts and heard again, is the same act."""
    assert parse_act(act.kind, format_act(act), NOW) == act


@given(act=any_act)
def test_what_the_book_keeps_is_recalled(act: Any) -> None:
    """The words the book keeps of an act make the same act again."""
    import json

    kept = json.loads(json.dumps(words_of(act)))
    assert restore_act(act.kind, kept, sure=False) == act


def test_words_as_a_hand_types_them() -> None:
    """A decimal comma, a unit, a yes and a day are all understood."""
    texts = {
        "vessel": "B-1",
        "volume": "0,5 gal",
        "from": "K-1",
        "not-full": "yes",
        "when": "2026-10-01",
        "hand": "Iko",
    }
    act = parse_act("top", texts, NOW)
    assert isinstance(act, acts.Top)
    assert (act.volume, act.source, act.not_full, act.hand) == (1893, "K-1", True, "Iko")
    assert act.at is not None
    assert act.at.date().isoformat() == "2026-10-01"


def test_a_bare_number_is_in_the_persons_unit() -> None:
    """Who thinks in gallons types 2 and means gallons."""
    act = parse_act("sample", {"vessel": "B-1", "volume": "2"}, NOW, Units(volume="gal"))
    assert isinstance(act, acts.Sample)
    assert act.volume == 7571


@pytest.mark.parametrize(
    ("kind", "texts", "field", "words"),
    [
        ("top", {"vessel": "B-1", "volume": "1"}, "from", "is needed to top"),
        ("top", {"vessel": "B-1", "volume": "1.8 lt", "from": "K"}, "volume", "'1.8 lt' is not a volume"),
        ("top", {"vessel": "B", "volume": "1", "from": "K", "not-full": "perhaps"}, "not-full", "neither yes nor no"),
        ("top", {"vessel": "B", "volume": "1", "from": "K", "when": "soon"}, "when", "is not a date or time"),
        ("treat", {"vessel": "B", "treatment": "sing"}, "treatment", "is not one of sniff"),
        ("reading", {"vessel": "B", "property": "abv", "value": "wet"}, "value", "is not a strength"),
        ("addition", {"vessel": "B", "substance": "gold", "amount": "1"}, "substance", "is not one of"),
        ("blend", {"vessel": "T", "draws": "B-1 120"}, "draws", "is not NAME=AMOUNT"),
        ("bottle", {"vessel": "T", "code": "X", "bottles": "1.5"}, "bottles", "is no number of bottles"),
    ],
)
def test_what_cannot_be_understood_names_the_field(kind: str, texts: dict[str, Any], field: str, words: str) -> None:
    """One line, at the field, that says what is expected."""
    with pytest.raises(BadField) as caught:
        parse_act(kind, texts, NOW)
    assert caught.value.field == field
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_unknown_kind_lists_the_kinds() -> None:
    """A kind that is not declared is refused with those that are."""
    with pytest.raises(UnknownKind, match="receive, fill, top"):
        parse_act("drink", {}, NOW)


@pytest.mark.parametrize("typed", ["look again 8 weeks", "Look again in 8 w", "again 8", "look again, after 8 wks."])
def test_the_weeks_of_a_look_may_stand_with_the_verdict(typed: str) -> None:
    """As the refusal of a look without weeks shows it; several vessels and orders read it the same way."""
    act = parse_act("judge", {"vessel": "B-1", "verdict": typed}, NOW)
    assert act == acts.Judge(vessel="B-1", verdict="look again", weeks=8)
    assert exact_texts("judge", {"verdict": typed}) == {"verdict": "look again", "weeks": "8"}


def test_weeks_that_are_given_twice_are_not_chosen_from() -> None:
    with pytest.raises(BadField, match="'look again 8 weeks' is not one of keep, look again"):
        parse_act("judge", {"vessel": "B-1", "verdict": "look again 8 weeks", "weeks": "6"}, NOW)
