"""Every field that a hand gave is told wherever entries are told: a law over all kinds, and over one made up here."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared.acts import KINDS, Act, faces
from cooperage.book.declared.fields import FieldSpec, Holds, field_spec
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE, Outside
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import Entry
from cooperage.book.replay.events import Move, Observed
from cooperage.book.words import done_words, entry_in_full, entry_line, entry_words, not_yet, what_was_done
from cooperage.units import DEFAULT, Quantity, Units, show, show_exact

WHEN = datetime(2026, 10, 3, 14, 30, tzinfo=UTC)
AMERICAN = Units(volume="gal", gravity="brix", temperature="f", decimal=",")
units_of_people = st.sampled_from([DEFAULT, AMERICAN])
tags, lots = st.sampled_from(["B-017", "b-002", "K-01", "T-1"]), st.sampled_from(["HE-24", "lb-24"])
words = st.text(st.characters(categories=["L", "N", "P", "Zs"]), min_size=1, max_size=90).filter(str.strip)
volumes = st.integers(1, 2_000_000)
RANGES = {Quantity.TEMPERATURE: (-15, 45), Quantity.LENGTH: (0, 3000), Quantity.PERCENT: (0, 100)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Novelty(Act):
    """A kind that nobody has thought of yet, with a field of everything that a field can hold."""

    kind = "novelty"
    label = "do something new"
    vessel: str = field_spec("vessel", Holds.TAG)
    goes_to: str = field_spec("to", Holds.PLACE)
    lot: str = field_spec("lot", Holds.LOT)
    remark: str = field_spec("remark", Holds.TEXT)
    is_odd: bool = field_spec("it is odd", Holds.FLAG, default=False)
    cause: str = field_spec("lost to", Holds.CHOICE, choices=lambda: GAP_CAUSES, default="")
    draws: tuple[tuple[str, int], ...] = field_spec("draws", Holds.DRAWS, default=())
    doses: tuple[tuple[str, float], ...] = field_spec("doses", Holds.DRAWS, default=())
    entry: str = field_spec("entry", Holds.ENTRY, default="")
    substance: str = field_spec(
        "substance", Holds.CHOICE, choices=lambda: tuple(SUBSTANCES), named=lambda name: SUBSTANCES[name].label
    )
    amount: float = field_spec("amount", Holds.AMOUNT)
    property: str = field_spec(
        "property", Holds.CHOICE, choices=lambda: tuple(PROPERTIES), named=lambda name: PROPERTIES[name].label
    )
    value: float = field_spec("value", Holds.VALUE)
    spread: float | None = field_spec("give or take", Holds.SPREAD, default=None)
    count: int | None = field_spec("count", Holds.COUNT, default=None)
    volume: int | None = field_spec("volume", Quantity.VOLUME, default=None)
    strength: float | None = field_spec("strength", Quantity.STRENGTH, default=None)
    warmth: float | None = field_spec("warmth", Quantity.TEMPERATURE, default=None)
    depth: float | None = field_spec("depth", Quantity.LENGTH, default=None)
    price: float | None = field_spec("price", Quantity.MONEY, default=None)


ALL: dict[str, type[Act]] = {**KINDS, Novelty.kind: Novelty}


def _values(face: FieldSpec) -> st.SearchStrategy[Any]:
    """Values that a field may hold, what hangs on another field left for later."""
    if face.holds is Quantity.VOLUME:
        return volumes
    if isinstance(face.holds, Quantity):
        return st.floats(*RANGES.get(face.holds, (0, 90)))
    return {
        Holds.TAG: tags,
        Holds.PLACE: tags | st.just(Outside.POURED_AWAY.value),
        Holds.LOT: lots,
        Holds.TEXT: words,
        Holds.FLAG: st.booleans(),
        Holds.CHOICE: st.sampled_from(face.choices() if face.choices else ()),
        Holds.DRAWS: _draws(face),
        Holds.ENTRY: st.just("01a1ee629300c0ffee0123456789abcd"),
        Holds.AMOUNT: st.floats(0.01, 90_000),
        Holds.VALUE: st.floats(0, 1),  # of what is possible
        Holds.SPREAD: st.floats(0.001, 5),
        Holds.COUNT: st.integers(0, 9999),
        Holds.BOTTLES: st.integers(1, 9999),
    }[face.holds]


def _draws(face: FieldSpec) -> st.SearchStrategy[list[list[Any]]]:
    each = st.tuples(tags, volumes) if face.name == "draws" else st.tuples(st.sampled_from([*SUBSTANCES]), volumes)
    return st.lists(each.map(list), min_size=1, max_size=3)


def _said(draw: st.DrawFn, kind: type[Act]) -> dict[str, Any]:
    message: dict[str, Any] = {}
    for declared, face in faces(kind):
        message[declared.name] = draw(
            _values(face) if draw(st.booleans()) else st.just(declared.default), label=face.name
        )
        if message[declared.name] is declared.default and declared.default.__class__.__name__ == "_MISSING_TYPE":
            message[declared.name] = draw(_values(face))
    if "property" in message and "value" in message:
        low, high = PROPERTIES[message["property"]].possible
        message["value"] = low + (high - low) * message["value"]
    return message


def _moves(draw: st.DrawFn, said: dict[str, Any]) -> list[Move]:
    """Moves that may tell some of what was said, and some that tell something else."""
    ends = [value.upper() for value in said.values() if isinstance(value, str) and value[1:2] == "-"]
    place = st.sampled_from([*ends, "T-9", *(place.value for place in Outside)])
    millilitres = st.sampled_from([value for value in said.values() if type(value) is int and value > 0] or [700])
    origin = st.sampled_from([(None, None), (None, None), ("HE-24", None), (None, "honey"), (None, "water")])
    moves = draw(st.lists(st.tuples(place, place, millilitres | volumes, origin), max_size=3))
    return [Move(source, destination, ml, *of) for source, destination, ml, of in moves if source != destination]


@st.composite
def entries_told(draw: st.DrawFn) -> Entry:
    """An entry of any kind, and what a hand may have said with it."""
    kind = ALL[draw(st.sampled_from(sorted(ALL)))]
    message = _said(draw, kind)
    strikes = message["entry"] if kind.kind == "strike" else None
    struck_by = draw(st.sampled_from([None, None, "01fe629300c0ffee0123456789abcdef"]))
    note, hand, vessel = draw(st.just("") | words), draw(st.sampled_from(["", "Tove"])), message.get("vessel")
    subject = None if vessel is None else vessel.upper()
    moves = _moves(draw, message)
    readings = [Observed("B-017", "ph", 3.4, 0.04)] if draw(st.booleans()) else []
    kept = (kind.kind, WHEN, WHEN, hand, note, subject, message, strikes, struck_by)
    return Entry("019ad925bb40c0ffee0123456789abcd", *kept, moves, readings, "top" if strikes else "")


@pytest.fixture(scope="module", autouse=True)
def _known() -> Iterator[Any]:
    """The kind made up here is declared like any other while these tests run."""
    KINDS[Novelty.kind] = Novelty
    yield
    del KINDS[Novelty.kind]


@pytest.mark.slow
@given(entry=entries_told(), units=units_of_people)
def test_every_field_that_was_given_is_told_in_full(entry: Any, units: Any) -> None:
    """Each value in the person's units, a place and a choice by its label; and the note, and what strikes it."""
    line, page = entry_words(entry, units), "\n".join(entry_in_full(entry, units))
    for declared, face in _given(entry):
        for telling in (line, page):
            _assert_told(telling, face, entry.said[declared.name], entry, units)
    for telling in (line, page):
        assert entry.note in telling
        assert (entry.struck_by or "")[:ID_LETTERS] in telling
    assert entry.hand in page
    assert entry.hand in entry_line(entry, units)
    assert entry.id in page
    assert what_was_done(entry, units) in line


@pytest.mark.slow
@given(entry=entries_told(), units=units_of_people)
def test_in_short_nothing_is_left_out(entry: Any, units: Any) -> None:
    """Where there is little room texts are cut and places go by their short names, but no value is missing."""
    line = entry_words(entry, units, short=True)
    for declared, face in _given(entry):
        _assert_told(line, face, entry.said[declared.name], entry, units, short=True)
    assert ("STRUCK" in line) == bool(entry.struck_by)


@pytest.mark.slow
@given(entry=entries_told(), units=units_of_people)
def test_every_move_and_reading_is_told(entry: Any, units: Any) -> None:
    """The page holds every millilitre with both ends; the line every volume, and the readings with their values."""
    line, page = entry_words(entry, units), "\n".join(entry_in_full(entry, units))
    for move in entry.moves:
        ends = [OUTSIDE[Outside(end)].label if end in set(Outside) else end for end in (move.source, move.destination)]
        assert " → ".join(ends) in page
        assert show_exact(move.ml, units) in page
        assert show_exact(move.ml, units) in line or _is_said_in_litres(move, entry)
    for read in entry.readings:
        assert f"pH {show(Quantity.NUMBER, read.value, units)}" in line
        assert "give or take" in page


def _is_said_in_litres(move: Move, entry: Entry) -> bool:
    """A dose of water says its litres itself: the move need not say them again."""
    dosed = {name for name, _ in entry.said.get("doses") or ()} | {entry.said.get("substance")}
    return move.substance == "water" and "water" in dosed


def _given(entry: Entry) -> list[tuple[Any, FieldSpec]]:
    return [
        (declared, face)
        for declared, face in faces(ALL[entry.kind])
        if entry.said[declared.name] not in (None, "", False, declared.default, (), [])
        or (entry.said[declared.name] == 0 and face.holds is not Holds.FLAG and declared.default != 0)
    ]


def _assert_told(telling: str, face: FieldSpec, value: Any, entry: Entry, units: Units, *, short: bool = False) -> None:
    if face.is_document or face.holds is Holds.FLAG:
        assert face.label in telling
    elif face.holds is Holds.DRAWS:
        for name, amount in value:
            _assert_named(telling, name)
            quantity = SUBSTANCES[name].quantity if name in SUBSTANCES else Quantity.VOLUME
            _assert_figure(telling, quantity, amount, units, short=short)
    elif face.holds is Holds.SPREAD:
        _assert_spread(telling, PROPERTIES[entry.said["property"]].quantity, value, entry.said["value"], units)
    elif (typed_in := _quantity(face, entry.said)) is not None:
        _assert_figure(telling, typed_in, value, units, short=short)
    elif face.holds is Holds.ENTRY:
        assert value[:ID_LETTERS] in telling
    elif face.holds is Holds.TEXT:
        text = " ".join(value.split())
        assert (text[:39] if short else text) in telling
    elif face.holds in (Holds.COUNT, Holds.BOTTLES):
        assert str(value) in telling
    else:
        _assert_named(telling, value, short=short)


def _quantity(face: FieldSpec, said: dict[str, Any]) -> Quantity | None:
    if isinstance(face.holds, Quantity):
        return face.holds
    if face.holds is Holds.AMOUNT:
        return SUBSTANCES[said["substance"]].quantity
    return PROPERTIES[said["property"]].quantity if face.holds is Holds.VALUE else None


def _assert_named(telling: str, name: str, *, short: bool = False) -> None:
    """A tag in either case; a place, a property, a substance, a treatment by its name among people."""
    named: tuple[Mapping[Any, Any], ...] = (OUTSIDE, PROPERTIES, SUBSTANCES, TREATMENTS)
    labels = [declared[name].label for declared in named if name in declared]
    known = [*labels, *([name] if short or not labels or name in GAP_CAUSES else [])]
    assert any(label.casefold() in telling.casefold() for label in known), (telling, known)


def _assert_figure(telling: str, quantity: Quantity, value: float, units: Units, *, short: bool) -> None:
    """The value to the digits of its unit, or to more where those would lose over a fiftieth of it; volumes exactly."""
    if quantity is Quantity.VOLUME:
        value = round(value)
        if not short:
            assert show_exact(value, units) in telling
            return
    usual = show(quantity, value, units)
    if quantity in (Quantity.GRAVITY, Quantity.TEMPERATURE):  # their zero is not nothing
        assert usual in telling
        return
    decimals = len(usual.split()[0].partition(units.decimal)[2])
    shown = [show(quantity, value, units, digits=decimals + more) for more in range(4)]
    assert any(text in telling for text in shown), (telling, shown)
    exact = float(show(quantity, value, units, digits=12, with_unit=False).split()[0].replace(",", "."))
    told_as = [float(text.split()[0].replace(",", ".")) for text in shown if text in telling]
    assert any(math.isclose(figure, exact, rel_tol=0.0201) for figure in told_as) or shown[-1] in telling


def _assert_spread(telling: str, quantity: Quantity, spread: float, at: float, units: Units) -> None:
    """How far off, in the person's unit: the difference between two values as any screen shows them, to a fiftieth."""
    ends = [show(quantity, end, units, digits=9).split() for end in (at, at + spread)]
    far, near = (float(end[0].replace(",", ".")) for end in ends)
    expected = abs(far - near) if ends[0][1:] == ends[1][1:] else spread  # else beyond the Brix scale
    figures = [float(found.replace(",", ".")) for found in re.findall(r"give or take ([0-9.,]*[0-9])", telling)]
    assert any(math.isclose(figure, expected, rel_tol=0.021, abs_tol=1e-6) for figure in figures), (telling, expected)


def test_a_value_is_told_in_the_units_of_whoever_reads(cellar_told: Any) -> None:
    """Worked by hand: 1.8 L are 0.4755 US gallons, 18 °C are 64.4 °F, half a degree Celsius is 0.9 °F."""
    topped = cellar_told("top", {"vessel": "B-017", "volume": 1800, "source": "K-01", "not_full": True, "cause": ""})
    topped.moves = [Move("B-017", "evaporated", 1900), Move("K-01", "B-017", 1800)]
    assert entry_words(topped) == (
        "top B-017: 1.8 L from K-01, 1.9 L evaporated (angels' share), not filled to the bung"
    )
    assert entry_words(topped, AMERICAN, short=True) == (
        "top B-017: 0,48 gal from K-01, 0,50 gal evaporated, not filled to the bung"
    )
    read = {"vessel": "B-017", "property": "temperature_c", "value": 18.0, "uncertainty": 0.5, "method": "probe"}
    assert entry_words(cellar_told("reading", read), AMERICAN) == (
        "reading B-017: temperature 64,4 °F, give or take 0,9 °F, probe"
    )
    air = cellar_told("climate", {"room": "Loft", "temperature": 11.3, "humidity": 70.0})
    assert entry_words(air) == "climate: Loft 11.3 °C, 70.0 %"


def test_a_little_is_not_told_as_nothing(cellar_told: Any) -> None:
    """50 ml are 0.05 L on a short line too, and 4 mg/L of volatile acidity 0.004 g/L."""
    pulled = cellar_told("sample", {"vessel": "B-017", "volume": 50})
    pulled.moves = [Move("B-017", "sample", 50)]
    assert entry_words(pulled, short=True) == "sample B-017: 0.05 L"
    sour = {"vessel": "B-017", "property": "va_g_l", "value": 0.004, "uncertainty": None, "method": ""}
    assert entry_words(cellar_told("reading", sour)) == "reading B-017: volatile acidity 0.004 g/L"


@pytest.mark.parametrize(
    ("row", "bay", "tier", "place"),
    [("B", 2, 1, "to Low B.2.1"), ("", None, None, "to Low"), ("B", 2, None, "to Low, row B, bay 2")],
)
def test_a_vessel_is_moved_as_people_say_it(
    cellar_told: Any, row: str, bay: int | None, tier: int | None, place: str
) -> None:
    """The book's name of the kind, shift, is no word for people; the place stands as it is chalked and typed."""
    moved = cellar_told("shift", {"vessel": "B-017", "room": "Low", "row": row, "bay": bay, "tier": tier})
    assert entry_words(moved) == f"move B-017: {place}"
    assert done_words(moved) == f"moved {place}"
    assert entry_in_full(moved)[0].startswith("move B-017, done")


def test_a_strike_tells_what_it_takes_back(cellar_told: Any) -> None:
    """The kind and the beginning of the id of what is struck, and the moves that no longer count."""
    strike = cellar_told("strike", {"entry": "019879c60f80aaaabbbb"})
    strike.strikes, strike.strikes_kind = "019879c60f80aaaabbbb", "top"
    strike.moves = [Move("B-017", "K-01", 500), Move("evaporated", "B-017", 350)]
    assert entry_words(strike) == (
        "strike B-017: cancels top 019879c60f80aaaa (0.5 L from K-01, 0.35 L evaporated (angels' share))"
    )


def test_the_usual_uncertainty_is_named_where_none_was_given(cellar_told: Any) -> None:
    """In full, a reading has its give or take once: as it was given, or as is usual for such an instrument."""
    for typed, shown in ((0.4, "give or take 0.4 °C"), (None, "give or take 0.5 °C, as is usual")):
        said = {"vessel": "B-017", "property": "temperature_c", "value": 18.0, "uncertainty": typed, "method": ""}
        read = cellar_told("reading", said)
        read.readings = [Observed("B-017", "temperature_c", 18.0, 0.5 if typed is None else typed)]
        assert [line for line in entry_in_full(read) if "give or take" in line] == [shown]


def test_a_sentence_with_a_gap_is_not_begun(cellar_told: Any) -> None:
    """Where an old entry lacks a figure of its kind's sentence, each of the others stands by its own label."""
    assert entry_words(cellar_told("climate", {"room": "Loft", "temperature": 11.3, "humidity": 70.0})) == (
        "climate: Loft 11.3 °C, 70.0 %"
    )
    for gap in ({}, {"humidity": None}):
        assert entry_words(cellar_told("climate", {"room": "Loft", "temperature": 11.3, **gap})) == (
            "climate: room Loft, temperature 11.3 °C"
        )


def test_what_would_play_with_a_terminal_is_told_as_a_mark(cellar_told: Any) -> None:
    """An old note that rings the bell or turns the line around is shown, not obeyed, on lines and on the page."""
    seen = cellar_told("retire", {"vessel": "B-017", "reason": "stave\x1b[2J split"})
    seen.note, seen.hand = "ring\x07", "To\u202eve"
    for telling in (entry_line(seen), entry_line(seen, short=True), "\n".join(entry_in_full(seen))):
        assert telling.replace("\n", "").isprintable()
        assert all(mark in telling for mark in ("stave\\x1b[2J split", "ring\\x07", "To<U+202E>ve"))
    assert what_was_done(seen) == "stave\\x1b[2J split"


def test_what_a_newer_program_wrote_is_told_as_it_stands(cellar_told: Any) -> None:
    """A kind or a field that this program does not know is shown by its own name, not passed over."""
    assert entry_words(cellar_told("juggle", {"clubs": 5, "hat": ""})) == "juggle B-017: clubs 5"


@pytest.fixture
def cellar_told() -> Any:
    """Make an entry on B-017 of what was said."""

    def make(kind: str, said: dict[str, Any]) -> Entry:
        subject = None if kind == "climate" else "B-017"
        return Entry("019ad925bb40c0ffee", kind, WHEN, WHEN, "Tove", "", subject, said, None, None)

    return make


@pytest.mark.parametrize("kind", sorted(kind for kind, act in KINDS.items() if "{bottles} bottles" in act.sentence))
def test_one_bottle_is_no_bottles(kind: str) -> None:
    """Whatever was done with it."""
    texts = {"went": "sold", "bottle_ml": 750, "bottle": 750}
    names = re.findall(r"{(\w+)}", KINDS[kind].sentence)
    said = {name: texts.get(name, "SALT-25") for name in names}
    for bottles, words in ((1, "1 bottle "), (2, "2 bottles ")):
        told = entry_words(not_yet(kind, said | {"bottles": bottles}))
        assert words in told
        assert ("that were" in told) <= (bottles == 2)
