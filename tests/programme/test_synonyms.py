"""Every synonym means its name at every door: the form, the command, the import, Python, a stop's line, a lab slip."""

import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.allowed import NotAllowed
from cooperage.book.declared.from_text import BadField, format_act, parse_act
from cooperage.book.declared.looks import BUNG_SPELLINGS, LEVEL_SPELLINGS, SMELL_SPELLINGS
from cooperage.book.declared.places import AWAY_SPELLINGS
from cooperage.book.declared.properties import PROPERTIES, PROPERTY_SPELLINGS
from cooperage.book.declared.substances import SUBSTANCE_SPELLINGS, SUBSTANCES, TREATMENT_SPELLINGS
from cooperage.book.log import entries
from cooperage.book.writing.write import words_of
from cooperage.cli import main
from cooperage.exchange import import_folder
from cooperage.exchange.errors import BadCell
from cooperage.programme.pasted.lab_slip import read_slip
from cooperage.programme.walk.slips import NotAWord
from cooperage.programme.walk.stop_line import parse_stop_line
from cooperage.programme.walk.stops import Stop
from cooperage.units import Quantity

NOW = datetime(2026, 11, 3, 9, tzinfo=UTC)
USUAL = {
    "abv": 12.0,
    "sugar_g_l": 40.0,
    "ta_g_l": 6.0,
    "va_g_l": 0.5,
    "free_so2_mg_l": 24.0,
    "total_so2_mg_l": 80.0,
    "ph": 3.4,
    "sg": 1.022,
    "temperature_c": 14.0,
    "co2_g_l": 0.9,
    "turbidity_ntu": 0.8,
    "heat_haze_ntu": 1.0,
    "headspace_mm": 30.0,
}
UNIT_WORDS = {"brix": "5.6", "plato": "5.6"}


def _typed(spelling: Any) -> Any:
    """A bare figure after a property's name, as a hand types it."""
    return UNIT_WORDS.get(spelling, str(USUAL[PROPERTY_SPELLINGS[spelling]]))


def _dose(name: Any) -> Any:
    return "10 ml" if SUBSTANCES[name].quantity is Quantity.VOLUME else "2 g"


def _families() -> Iterator[Any]:
    """Yield (family, kind, texts with a synonym, the same texts with the name) for each spelling declared."""
    for spelling, name in PROPERTY_SPELLINGS.items():
        rest = {"vessel": "B-1", "value": _typed(spelling)}
        unit = f" {spelling}" if spelling in UNIT_WORDS else ""
        plain = {**rest, "property": name, "value": rest["value"] + unit}
        yield spelling, "reading", {**rest, "property": spelling}, plain
    for spelling, name in SUBSTANCE_SPELLINGS.items():
        rest = {"vessel": "B-1", "amount": _dose(name)}
        yield spelling, "addition", {**rest, "substance": spelling}, {**rest, "substance": name}
    for spelling, name in SUBSTANCE_SPELLINGS.items():
        if SUBSTANCES[name].ml_per_unit:
            rest = {"vessel": "T-2", "draws": "B-1=10 L"}
            doses = ({"doses": f"{word}={_dose(name)}"} for word in (spelling, name))
            yield f"dose of {spelling}", "blend", *({**rest, **dose} for dose in doses)
    for spelling, name in TREATMENT_SPELLINGS.items():
        yield (
            spelling,
            "treat",
            {"vessel": "B-9", "treatment": spelling},
            {"vessel": "B-9", "treatment": name},
        )
    for spelling, name in SMELL_SPELLINGS.items():
        yield spelling, "look", {"vessel": "B-1", "smell": spelling}, {"vessel": "B-1", "smell": name}
    for where, spellings in (("level", LEVEL_SPELLINGS), ("bung", BUNG_SPELLINGS)):
        for spelling, name in spellings.items():
            yield spelling, "look", {"vessel": "B-1", where: spelling}, {"vessel": "B-1", where: name}
    yield (
        "smells of",
        "look",
        {"vessel": "B-1", "smell": "smells of mold and egg"},
        {"vessel": "B-1", "smell": "mould, egg"},
    )
    for spelling, name in AWAY_SPELLINGS.items():
        rest = {"vessel": "B-1", "volume": "2 L"}
        yield spelling, "rack", {**rest, "to": spelling}, {**rest, "to": name}


FAMILIES = list(_families())
each = pytest.mark.parametrize(
    ("kind", "texts", "plain"), [case[1:] for case in FAMILIES], ids=[f"{case[1]} {case[0]}" for case in FAMILIES]
)


def test_what_people_type_is_among_them() -> None:
    """American spellings and cellar words, each for the name that the book keeps."""
    assert {"metabisulfite", "kmbs", "meta", "k-meta", "potassium metabisulfite"} <= SUBSTANCE_SPELLINGS.keys()
    assert TREATMENT_SPELLINGS["sulfur wick"] == "sulphur wick"
    smells = ("mold", "rotten egg", "nail varnish", "nail polish", "barnyard", "brett", "oxidized", "oxidised")
    meant = ["mould", "egg", "solvent", "solvent", "horse", "horse", "flat", "flat"]
    assert [SMELL_SPELLINGS[word] for word in smells] == meant
    words = ("strength", "va", "ta", "free", "total", "gravity", "sg", "brix", "ph", "temp")
    assert all(word in PROPERTY_SPELLINGS for word in words)
    assert set(USUAL) == set(PROPERTIES)


@each
def test_a_form_understands_it(kind: Any, texts: Any, plain: Any) -> None:
    """In any case, and what is kept is the name itself."""
    loud = {name: text if name == "vessel" else text.upper() for name, text in texts.items() if name != "draws"}
    assert parse_act(kind, texts, NOW) == parse_act(kind, plain, NOW)
    assert parse_act(kind, texts | loud, NOW) == parse_act(kind, plain, NOW)


@pytest.fixture
def filled(fresh_sqlite: Callable[[], Book]) -> Iterator[Any]:
    """A book with B-1 filled but for ten litres, and an empty barrel B-9."""
    book = fresh_sqlite()
    with book.writing() as session:
        session.add_vessel(Vessel("", "B-9", "barrel", 225_000))
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Fill(vessel="B-1", source="T-1", volume=215_000))
    yield book
    book.close()


def _written(book: Book) -> Any:
    """List what was written after the cellar was furnished: kind and fields, oldest first."""
    with book.reading() as connection:
        return [(entry.kind, entry.said) for entry in entries(connection)][2:]


def _wanted() -> Any:
    """List each case as the book keeps it: by the names, never by a synonym."""
    acts_ = [parse_act(kind, plain, NOW) for _, kind, _, plain in FAMILIES]
    return [(act.kind, json.loads(json.dumps(words_of(act)))) for act in acts_]


def test_python_writes_the_names(filled: Any) -> None:
    """Acts made by a program with synonyms in them."""
    fields = ("property", "substance", "treatment", "smell", "level", "bung")
    for _, kind, texts, plain in FAMILIES:
        act = parse_act(kind, plain, NOW)
        raw = {name: texts[name] for name in fields if name in texts}
        raw |= {"destination": texts["to"]} if kind == "rack" else {}
        if kind == "blend":
            assert isinstance(act, acts.Blend)
            raw["doses"] = tuple((texts["doses"].partition("=")[0], amount) for _, amount in act.doses)
        filled.write(replace(act, **raw, sure=True))
    assert _written(filled) == _wanted()


def test_a_command_writes_the_names(filled: Any) -> None:
    """`cooperage log` takes them as arguments and options; one case of each kind, since a command starts slowly."""
    cases = {kind: (texts, nth) for nth, (_, kind, texts, _) in enumerate(FAMILIES)}
    for kind, (texts, _) in cases.items():
        given = [(face, texts[face.name]) for _, face in acts.faces(acts.KINDS[kind]) if face.name in texts]
        arguments = [text for face, text in given if face.argument]
        options = [part for face, text in given if not face.argument for part in (f"--{face.name}", text)]
        done = CliRunner().invoke(main, ["--cellar", filled.name, "log", kind, *arguments, *options, "--sure"])
        assert done.exit_code == 0, done.output
    wanted = _wanted()
    assert _written(filled) == [wanted[nth] for _, nth in cases.values()]


def test_an_import_writes_the_names(filled: Any, tmp_path: Path) -> None:
    """Rows of entries.csv."""
    columns = ["when", "kind", "sure", *dict.fromkeys(name for _, _, texts, _ in FAMILIES for name in texts)]
    with (tmp_path / "entries.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.DictWriter(file, columns, restval="")
        rows.writeheader()
        for _, kind, texts, _ in FAMILIES:
            rows.writerow({"when": filled.now().isoformat(), "kind": kind, "sure": "yes", **texts})
    import_folder(filled, tmp_path / "entries.csv")
    assert _written(filled) == _wanted()


def test_a_spread_is_in_the_unit_that_the_name_means() -> None:
    """An uncertainty of 0.1 Brix is one of 0.0004 in gravity; a file, whose spreads are in SG, refuses to guess."""
    texts = {"vessel": "B-1", "property": "brix", "value": "5.6", "give-or-take": "0.1"}
    plain = {**texts, "property": "sg", "value": "5.6 brix", "give-or-take": "0.1 brix"}
    assert parse_act("reading", texts, NOW) == parse_act("reading", plain, NOW)


def test_an_import_refuses_a_spread_in_another_unit(filled: Any, tmp_path: Path) -> None:
    header, row = "when,kind,vessel,property,value,give-or-take", "2025-01-06,reading,B-1,brix,5.6,0.1"
    (tmp_path / "entries.csv").write_text(f"{header}\n{row}\n")
    with pytest.raises(BadCell, match="degrees brix"):
        import_folder(filled, tmp_path / "entries.csv")


def _at_a_stop(line: Any) -> Any:
    stop = Stop("B-1", ("Low", "A", 1, 1))
    return [act for act in parse_stop_line(stop, line, {"from": "K-1"}, NOW).acts if act.kind != "top"]


@pytest.mark.parametrize("spelling", PROPERTY_SPELLINGS)
def test_a_stops_line_understands_a_property(spelling: Any) -> None:
    """Before the litres or after them, in any case."""
    plain = {"vessel": "B-1", "property": spelling, "value": _typed(spelling)}
    how = {"how": "dip"} if PROPERTY_SPELLINGS[spelling] == "headspace_mm" else {}
    wanted = [parse_act("reading", plain | how, NOW)]
    assert _at_a_stop(f"1.8 {spelling} {_typed(spelling)}") == wanted
    assert _at_a_stop(f"{spelling.upper()} {_typed(spelling)} 1.8") == wanted
    assert _at_a_stop(f"{spelling}={_typed(spelling)}, 1.8") == wanted


@pytest.mark.parametrize(("spelling", "name"), SMELL_SPELLINGS.items())
def test_a_stops_line_understands_a_smell(spelling: Any, name: Any) -> None:
    """Beside a topping, and between other words."""
    assert _at_a_stop(f"1.8 {spelling}") == [acts.Look(vessel="B-1", smell=name)]
    assert _at_a_stop(f"{spelling} weeping 1.8") == [acts.Look(vessel="B-1", bung="weeping", smell=name)]


@pytest.mark.parametrize(("spelling", "name"), [*LEVEL_SPELLINGS.items(), *BUNG_SPELLINGS.items()])
def test_a_stops_line_understands_a_level_and_a_bung(spelling: Any, name: Any) -> None:
    """Alone, or after the word that says what is looked at."""
    where = "level" if spelling in LEVEL_SPELLINGS else "bung"
    wanted = [acts.Look(vessel="B-1", **{where: name})]
    assert _at_a_stop(spelling.upper()) == wanted
    assert _at_a_stop(f"1.8, {where} {spelling}") == wanted


@pytest.mark.parametrize(("spelling", "name"), SUBSTANCE_SPELLINGS.items())
def test_a_stops_line_understands_a_substance(spelling: Any, name: Any) -> None:
    """The amount before it or after it, beside a topping."""
    wanted = [parse_act("addition", {"vessel": "B-1", "substance": name, "amount": _dose(name)}, NOW)]
    assert _at_a_stop(f"add {_dose(name)} {spelling}, 1.8") == wanted
    assert _at_a_stop(f"1.8; added {spelling.upper()} {_dose(name)}") == wanted


@pytest.mark.parametrize(("spelling", "name"), TREATMENT_SPELLINGS.items())
def test_a_stops_line_understands_barrel_work(spelling: Any, name: Any) -> None:
    """But for a word that people type in another sense; a full barrel is sniffed at its bung."""
    if spelling == "fine":
        with pytest.raises(NotAWord):
            _at_a_stop(spelling)
        return
    wanted = acts.Look(vessel="B-1", smell="sound") if name == "sniff" else acts.Treat(vessel="B-1", treatment=name)
    assert _at_a_stop(spelling.upper()) == [wanted]


def test_one_property_by_two_names_is_refused() -> None:
    """Free and SO2 are one reading; which of the figures is meant is not guessed."""
    with pytest.raises(BadField, match="free SO2 is given twice"):
        _at_a_stop("1.8 so2 24 free 26")


@pytest.mark.parametrize("spelling", PROPERTY_SPELLINGS)
def test_a_lab_slip_understands_a_property(spelling: Any, small_cellar: Any) -> None:
    slip = read_slip(f"B-1 {spelling} {_typed(spelling)}", small_cellar)
    wanted = parse_act(
        "reading", {"vessel": "B-1", "property": spelling, "value": _typed(spelling), "how": "lab"}, small_cellar.at
    )
    assert list(slip.readings) == [wanted]


@pytest.mark.parametrize("tag", ["dumped", "Dumped", "poured away"])
def test_no_vessel_is_called_like_a_place(tag: str, filled: Any) -> None:
    """Or a rack to it would mean two things."""
    with pytest.raises(NotAllowed, match="a place that mead goes to"), filled.writing() as session:
        session.add_vessel(Vessel("", tag, "barrel", 225_000))


@each
def test_it_is_shown_by_its_name(kind: Any, texts: Any, plain: Any) -> None:
    """What an export or a form shows again is the name."""
    assert format_act(parse_act(kind, texts, NOW)) == format_act(parse_act(kind, plain, NOW))
