"""Mead is followed back as far as its moves go to the barrels that held spirit, with the share that came through."""

from typing import Any

import pytest

from cooperage.book import Barrel, Book, Vessel
from cooperage.book.declared import acts
from cooperage.programme.bottling_risks.risk import RiskState
from cooperage.programme.bottling_risks.risks import risks
from cooperage.programme.bottling_risks.spirit import spirit_on_way, spirit_words
from cooperage.units import Units


@pytest.fixture
def spirited(cellar_book: Book, clock: Any) -> Book:
    """100 L of HEATHER from T-1 lie a month in S-1, which held rum, then go to T-2, on to T-3 and there meet 300 L."""
    with cellar_book.writing() as session:
        for tag in ("T-8", "T-9"):
            session.add_vessel(Vessel("", tag, "tank", 1_000_000))
        session.add_vessel(
            Vessel("", "S-1", "barrel", 110_000, barrel=Barrel(past_life="rum", past_kind="spirit", fills_before=1))
        )
    cellar_book.write(acts.Fill(vessel="S-1", source="T-1", volume=100_000, sure=True))
    clock.pass_days(30)
    cellar_book.write(acts.Rack(vessel="S-1", destination="T-8", volume=100_000, sure=True))
    clock.pass_days(1)
    cellar_book.write(acts.Rack(vessel="T-8", destination="T-9", volume=100_000, sure=True))
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-9", volume=300_000, sure=True))
    return cellar_book


def found_in(book: Book, *tags: str) -> list[tuple[str, float]]:
    cellar = book.cellar()
    with book.reading() as connection:
        return [(each.tag, each.share) for each in spirit_on_way(connection, cellar, [cellar[tag] for tag in tags])]


def test_it_is_followed_over_two_rackings_with_its_share(spirited: Book) -> None:
    """100 of 400 L came through the barrel: a quarter."""
    [(tag, share)] = found_in(spirited, "T-9")
    assert tag == "S-1"
    assert share == pytest.approx(0.25)
    strength = next(each for each in risks(spirited, ["T-9"], {750: None}, profile="US") if each.name == "strength")
    assert strength.state is RiskState.TROUBLE
    assert "25.0 % of it came through S-1, which held rum: it must be measured, not calculated" in strength.why


def test_of_several_vessels_the_share_is_of_all(spirited: Book) -> None:
    """The 100 L are a share of both vessels together."""
    litres = {tag: spirited.cellar()[tag].ml for tag in ("T-1", "T-9")}
    expected = 100_000 / sum(litres.values())
    [(tag, share)] = found_in(spirited, "T-1", "T-9")
    assert tag == "S-1"
    assert share == pytest.approx(expected)


def test_what_never_met_it_is_free(spirited: Book) -> None:
    assert found_in(spirited, "T-1") == []
    assert spirit_words([]) == ""


def test_a_trace_of_it_is_left_out_and_a_share_has_the_persons_comma(spirited: Book) -> None:
    """3 L of the 400 in 900 and more are a fifth of a per cent of spirit barrel's mead: left out."""
    spirited.write(acts.Rack(vessel="T-9", destination="T-1", volume=3_000, sure=True))
    assert found_in(spirited, "T-1") == []
    cellar = spirited.cellar()
    with spirited.reading() as connection:
        words = spirit_words(spirit_on_way(connection, cellar, [cellar["T-9"]]), Units(decimal=","))
    assert words.startswith("25,0 % of it came through S-1")
