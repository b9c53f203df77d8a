"""What calls for a caution and what does not, and how several of them are told."""

from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book, Lot
from cooperage.book.dangers.dangers import (
    COMMON_PRACTICE,
    DANGERS,
    SHEET_FIRST,
    Caution,
    by_danger,
    cautions,
    residue_words,
    row_lines,
    short_lines,
)
from cooperage.book.dangers.work import Work, before_vessel, work_of, work_of_draft
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from tests.dangers.doors import run


@pytest.mark.parametrize("danger", DANGERS.values(), ids=list(DANGERS))
def test_a_caution_is_plain_defers_and_names_its_source(danger: Any) -> None:
    """Short sentences, whose last says whose word comes first; a source, or that there is none."""
    result = danger.caution("B-001 held rum")
    assert result.text.endswith("licensed practice come first.")
    assert "local rules" in result.text
    assert len(result.line) <= 160
    assert len(result.text) <= 420
    assert all(len(sentence.split()) <= 32 for sentence in result.text.split(". "))
    assert danger.source
    assert "memory" in danger.source or "no source" in danger.source or any(c.isdigit() for c in danger.source)
    assert danger.source != COMMON_PRACTICE or not any(c.isdigit() for c in danger.short + danger.more)


def names(book: Book, kind: str, **texts: str) -> set[str]:
    act = parse_act(kind, texts, book.now())
    return {each.danger for each in cautions(work_of(act, book.cellar()))}


def test_a_barrel_is_sulphured_until_it_is_rinsed_or_filled(book: Book) -> None:
    """Water and steam drive the gas out; ozone, or a look, do not."""
    assert "sulphured barrel" in names(book, "look", vessel="SULPH", smell="sound")
    book.write(acts.Treat(vessel="SULPH", treatment="ozone"))
    assert "sulphured barrel" in names(book, "fill", vessel="SULPH", **{"from": "T-1"})
    book.write(acts.Treat(vessel="SULPH", treatment="rinse"))
    assert "sulphured barrel" not in names(book, "fill", vessel="SULPH", **{"from": "T-1"})


@pytest.mark.parametrize("wash", ["caustic", "peracetic acid", "holding solution"])
def test_mead_into_what_was_not_rinsed_is_asked_back(book: Book, wash: str) -> None:
    """Filled, racked into, received into, blended into: rinse first; once rinsed, or when it is so, it goes in."""
    from cooperage.book.errors import Implausible

    book.write(acts.Treat(vessel="DRY", treatment=wash))
    into = [
        acts.Fill(vessel="DRY", source="T-1", volume=1_000),
        acts.Rack(vessel="T-1", destination="DRY", volume=1_000),
        acts.Receive(lot="SWEET", vessel="DRY", volume=1_000),
        acts.Blend(vessel="DRY", draws=(("T-1", 1_000),)),
    ]
    for act in into:
        with pytest.raises(Implausible, match=f"DRY had {wash} in it today, not rinsed since: rinse it until"):
            book.write(act)
    book.write(acts.Treat(vessel="DRY", treatment="rinse"))
    book.write(into[0])
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000, sure=True))
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000))  # what is in it is asked about once


def test_a_barrel_that_had_mead_since_needs_no_rinsing_of_the_wash_before(book: Book) -> None:
    """What was washed, filled and emptied has been rinsed by that."""
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000, sure=True))
    book.write(acts.Rack(vessel="LYE", destination="T-1"))
    assert "not rinsed" not in names(book, "fill", vessel="LYE", **{"from": "T-1"})


def test_the_last_of_several_washes_is_the_one_to_rinse_out(book: Book) -> None:
    """Caustic, then peracetic acid, in either order: what went in last is named, and one rinse ends both."""
    for first, last in (("caustic", "peracetic acid"), ("peracetic acid", "caustic")):
        book.write(acts.Treat(vessel="DRY", treatment=first))
        book.write(acts.Treat(vessel="DRY", treatment=last))
        assert residue_words("DRY", book.cellar()["DRY"].state, book.now()) == (
            f"DRY had {last} in it today, not rinsed since"
        )
        book.write(acts.Treat(vessel="DRY", treatment="rinse"))
        assert residue_words("DRY", book.cellar()["DRY"].state, book.now()) == ""


@pytest.mark.parametrize("name", ["total_so2_mg_l", "free_so2_mg_l"])
def test_sulphite_that_was_measured_keeps_yeast_down_with_sorbate(book: Book, name: str) -> None:
    """Either figure is enough beside sorbate, none without it, and a figure of zero is no sulphite."""
    book.write(acts.Reading(vessel="T-1", property=name, value=30.0, sure=True))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="sorbate", amount=300.0))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Reading(vessel="T-1", property=name, value=0.0, sure=True))
    assert "glass under pressure" in bottling(book)


def bottling(book: Book) -> set[str]:
    return names(book, "bottle", vessel="T-1", code="X", bottles="10")


def test_sweet_mead_is_told_until_the_book_has_it_stabilised(book: Book) -> None:
    """Sorbate without sulphite is not enough; what comes in afterwards is not stabilised."""
    book.write(acts.Addition(vessel="T-1", substance="sorbate", amount=300.0))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="metabisulphite", amount=50.0))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="honey", amount=1_000.0))
    assert "glass under pressure" not in bottling(book)  # sweetened after it was stabilised, as it should be
    book.write(acts.Rack(vessel="FULL", destination="T-1", volume=50_000))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Treat(vessel="T-1", treatment="sterile filter"))
    assert "glass under pressure" not in bottling(book)


def test_strong_or_dry_mead_does_not_burst_and_the_unknown_may(book: Book) -> None:
    """18 % vol and 2 g/L are the lines; sugar that nobody knows is not none."""
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=1.5))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=60.0, sure=True))
    book.write(acts.Reading(vessel="T-1", property="abv", value=18.0, sure=True))
    assert "glass under pressure" not in bottling(book)
    with book.writing() as w:
        w.add_lot(Lot("", "DARK", "nobody knows"))
    book.write(acts.Receive(lot="DARK", vessel="T-2", volume=100_000))
    (result,) = [
        each
        for each in cautions(work_of(acts.Bottle(vessel="T-2", code="X", bottles=10), book.cellar()))
        if each.danger == "glass under pressure"
    ]
    assert "sugar unknown, strength unknown" in result.line


def test_spirit_added_to_a_barrel_counts_as_spirit_held(book: Book) -> None:
    """A barrel that held wine before it came, and mead with spirit in it here, is no place for a wick."""
    from cooperage.book.errors import Implausible

    book.write(acts.Addition(vessel="PART", substance="spirit", amount=2_000.0))
    book.write(acts.Rack(vessel="PART", destination="T-1"))
    with pytest.raises(Implausible, match="PART held mead with spirit added"):
        book.write(acts.Treat(vessel="PART", treatment="sulphur wick"))


def test_a_form_half_filled_in_already_tells(book: Book) -> None:
    """The barrel alone is enough to know what lies in it, the treatment what it does."""
    here = book.cellar()
    assert {c.danger for c in cautions(work_of_draft("treat", {"vessel": "sulph"}, here))} == {"sulphured barrel"}
    assert {c.danger for c in cautions(work_of_draft("treat", {"treatment": "ozone"}, here))} == {"ozone"}
    assert cautions(work_of_draft("treat", {"vessel": "no such barrel"}, here)) == ()
    assert cautions(work_of_draft("strike", {}, here)) == ()


def test_what_is_harmless_is_told_nothing(book: Book) -> None:
    """A caution at every turn is read at none."""
    assert names(book, "reading", vessel="FULL", property="ph", value="3.4") == set()
    assert names(book, "top", vessel="FULL", volume="1 L", **{"from": "T-1"}) == set()
    assert names(book, "sample", vessel="FULL", volume="100 ml") == set()
    assert cautions(before_vessel(book.cellar()["FULL"])) == ()


def test_a_barrel_that_a_blend_empties_may_be_sulphured_and_one_left_partly_full_gassed(book: Book) -> None:
    """To the last millilitre it is empty, with one more it is partly full; a racking leaves what follows open."""
    assert names(book, "blend", vessel="T-2", draws="FULL=225 L") == {"sulphur dioxide"}
    assert names(book, "blend", vessel="T-2", draws="FULL=224.999 L") == {"inert gas"}
    assert names(book, "rack", vessel="FULL", to="T-2") == set()
    assert names(book, "rack", vessel="FULL", to="T-2", volume="100 L") == set()


def test_a_keg_may_be_under_gas_in_all_but_its_moving(book: Book) -> None:
    """Whatever opens it lets the pressure off first; who carries it only has it to lift."""
    assert names(book, "shift", vessel="K-1", room="Loft") == {"lifting"}
    assert "keg under gas" in names(book, "sample", vessel="K-1", volume="100 ml")
    assert "keg under gas" in names(book, "rack", vessel="T-1", to="K-1", volume="1 L")


@pytest.mark.parametrize(
    ("work", "seen"),
    [
        (Work(sweetens=True), "sugar feeds whatever yeast is left"),
        (Work(sweetens=True, abv=(17.9,)), "sugar feeds whatever yeast is left"),
        (Work(sweetens=True, abv=(18.0,)), None),
        (Work(sweetens=False, abv=(5.0,)), None),
    ],
)
def test_a_liquid_in_no_vessel_that_is_sweetened_can_ferment_below_18_per_cent(work: Work, seen: str | None) -> None:
    """A sum on the desk has no vessel; only its strength is known, and perhaps not even that."""
    assert {each.danger: each.seen for each in cautions(work)}.get("glass under pressure") == seen


def test_mead_that_is_sweetened_can_ferment_however_dry_it_was(book: Book) -> None:
    """Dry mead keeps in the bottle until somebody adds honey; an empty vessel has no figures to name."""
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=2.0, sure=True))
    assert "glass under pressure" not in bottling(book)
    assert "glass under pressure" in names(book, "addition", vessel="T-1", substance="honey", amount="1 kg")
    work = work_of(acts.Addition(vessel="DRY", substance="honey", amount=1_000.0), book.cellar())
    assert [each.seen for each in cautions(work)] == ["sugar feeds whatever yeast is left"]
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=2.1, sure=True))
    assert "glass under pressure" in bottling(book)


def test_cautions_in_little_room_end_with_who_comes_first() -> None:
    """None has no words, a single one all of them, and of several what to do, a line each."""
    keg, steam = DANGERS["keg under gas"].caution("K-1 may be under gas"), DANGERS["hot water and steam"].caution()
    assert keg.line == "K-1 may be under gas: let the pressure off before you open it"
    assert steam.line.startswith("It scalds, ")
    assert short_lines([]) == []
    assert short_lines([keg]) == [keg.text]
    assert short_lines([keg, steam]) == [f"{keg.line}.", f"{steam.line}.", SHEET_FIRST]


def test_the_same_of_several_vessels_is_told_once() -> None:
    """Both kegs in one sentence, not the same sentence for each."""
    kegs = [DANGERS["keg under gas"].caution(f"{tag} may be under gas") for tag in ("K-1", "K-2", "K-1")]
    (result,) = by_danger(kegs)
    assert isinstance(result, Caution)
    assert result.seen == "K-1, K-2 may be under gas"


def test_a_refused_act_is_one_line_without_its_cautions(cellar: Path) -> None:
    """What is not written needs no caution; what is asked back has it in the question."""
    done = run(cellar, "log", "addition", "DRY", "metabisulphite", "5 g")
    assert (done.exit_code, done.stderr.strip().splitlines()) == (1, [done.stderr.strip()])
    done = run(cellar, "log", "fill", "LYE", "100 L", "--from", "T-1")
    assert done.exit_code == 1
    assert "LYE had caustic in it 90 days ago, not rinsed since: rinse it until the water tests clean" in done.stderr


def test_states_kept_by_older_code_are_reckoned_anew_and_pass_the_check(book: Book) -> None:
    """What remembers less than a state does now is passed over, and is no fault of the book."""
    from sqlalchemy import text

    with book.writing() as w:
        w.connection.execute(text("""UPDATE reckoned SET state = replace(state, '"form"', '"format"')"""))
    assert "sulphured barrel" in names(book, "look", vessel="SULPH", smell="sound")
    assert not any(finding.broken for finding in book.check())


def test_a_danger_of_every_day_takes_one_row_of_a_screen() -> None:
    """A row of 80 columns says what is dangerous, what to do and whose rules come first; a rare danger says all."""
    keg, rare = DANGERS["keg under gas"].caution("K-05 may be under gas"), DANGERS["ozone"].caution()
    (row,) = row_lines([keg])
    assert len(f"Caution: {row}") <= 78
    assert row.startswith("K-05 may be under gas: vent it. ")
    assert "ocal rules, licensed practice" in row
    assert row_lines([rare]) == [rare.text]
    assert row_lines([keg, rare]) == [f"{keg.line}.", f"{rare.line}.", SHEET_FIRST]
