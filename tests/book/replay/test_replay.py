"""What the reckoner says of the mead itself: conserved when liquids meet, replaced by a reading, honest about age."""

from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.liquid import extract_g_l

if TYPE_CHECKING:
    from tests.conftest import Clock


def test_a_mixture_is_the_average_by_volume(cellar_book: Book) -> None:
    """300 L at 13 % and 100 L at 12 % are 400 L at 12.75 %: by hand, (300 x 13 + 100 x 12) / 400."""
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=300_000))
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=100_000))
    standing = cellar_book.cellar()["T-2"]
    assert standing.value("abv") == pytest.approx(12.75)
    assert standing.lots == pytest.approx({"HEATHER": 0.75, "LIME": 0.25})
    assert standing.cost_per_l == pytest.approx(6.5)


def test_evaporation_takes_no_extract(cellar_book: Book, clock: "Clock") -> None:
    """Where 225 L fall to 200 L by evaporation, sugar rises to 225/200 of what it was and strength stays."""
    before = cellar_book.cellar()["B-1"]
    sugar = before.value("sugar_g_l")
    assert sugar is not None
    clock.pass_days(700)
    cellar_book.write(acts.Gauge(vessel="B-1", volume=200_000, cause="evaporated"))
    after = cellar_book.cellar()["B-1"]
    assert after.value("sugar_g_l") == pytest.approx(sugar * 225 / 200)
    assert after.value("abv") == pytest.approx(before.value("abv"))


def test_a_leak_takes_everything_alike(cellar_book: Book, clock: "Clock") -> None:
    """What leaks is mead: nothing in what is left changes."""
    before = cellar_book.cellar()["B-1"]
    clock.pass_days(10)
    cellar_book.write(acts.Gauge(vessel="B-1", volume=200_000, cause="leak"))
    assert cellar_book.cellar()["B-1"].value("sugar_g_l") == pytest.approx(before.value("sugar_g_l"))


def test_a_reading_replaces_what_was_reckoned_and_ages(cellar_book: Book, clock: "Clock") -> None:
    """A reading is the figure until something changes the mead, and says how old it is."""
    assert cellar_book.cellar()["B-1"].figure("abv").source == "calculated"
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.4))
    clock.pass_days(3)
    figure = cellar_book.cellar()["B-1"].figure("abv")
    assert figure.value == pytest.approx(13.4)
    assert figure.source == "measured 3 days ago"
    cellar_book.write(acts.Top(vessel="B-1", volume=500, source="K-1"))
    assert cellar_book.cellar()["B-1"].figure("abv").source == "calculated; last measured 3 days ago"


def test_a_figure_has_the_uncertainty_of_its_last_reading(cellar_book: Book) -> None:
    """As it was given, else the usual one of its instrument; what was never read has none."""
    assert cellar_book.cellar()["B-1"].figure("abv").uncertainty is None
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.4))
    assert cellar_book.cellar()["B-1"].figure("abv").uncertainty == 0.15
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.4, uncertainty=0.3))
    assert cellar_book.cellar()["B-1"].figure("abv").uncertainty == 0.3


def test_a_gravity_with_a_known_strength_tells_the_sugar(cellar_book: Book) -> None:
    """A gravity reading sets sugar by Tabarié's formula, as cooperage.liquid has it (tested there)."""
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    cellar_book.write(acts.Reading(vessel="B-1", property="sg", value=1.018))
    assert cellar_book.cellar()["B-1"].value("sugar_g_l") == pytest.approx(float(extract_g_l(1.018, 13.0)))


def test_strength_and_gravity_may_be_read_in_either_order(cellar_book: Book) -> None:
    """The same two readings tell the same sugar, whichever was typed first."""
    for tag, order in (("B-2", ("abv", "sg")), ("B-3", ("sg", "abv"))):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1", volume=190_000))
        for name in order:
            value = {"abv": 13.6, "sg": 1.015}[name]
            cellar_book.write(acts.Reading(vessel=tag, property=name, value=value))
    cellar = cellar_book.cellar()
    assert cellar["B-2"].value("sugar_g_l") == pytest.approx(cellar["B-3"].value("sugar_g_l"))


def test_ph_is_never_averaged(cellar_book: Book) -> None:
    """A little topping leaves the pH that was read; a blend of two halves has none until it is read."""
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.4))
    cellar_book.write(acts.Reading(vessel="T-1", property="ph", value=3.8))
    cellar_book.write(acts.Sample(vessel="B-1", volume=500))
    cellar_book.write(acts.Top(vessel="B-1", volume=500, source="T-1"))
    assert cellar_book.cellar()["B-1"].value("ph") == pytest.approx(3.4)
    cellar_book.write(acts.Blend(vessel="T-2", draws=(("B-1", 100_000), ("T-1", 100_000))))
    assert cellar_book.cellar()["T-2"].value("ph") is None


def test_a_figure_unknown_in_a_large_part_is_unknown(cellar_book: Book) -> None:
    """Acid read in one of two halves says nothing of the whole: unknown is not zero."""
    cellar_book.write(acts.Reading(vessel="B-1", property="ta_g_l", value=6.0))
    cellar_book.write(acts.Blend(vessel="T-2", draws=(("B-1", 100_000), ("T-1", 100_000))))
    assert cellar_book.cellar()["T-2"].value("ta_g_l") is None


def test_metabisulphite_raises_sulphite_by_its_yield(cellar_book: Book) -> None:
    """11.7 g in 225 L raise total SO2 by 30 mg/L (57.6 % SO2 by mass; trade.md D.1, computed)."""
    for name, value in (("free_so2_mg_l", 10.0), ("total_so2_mg_l", 60.0)):
        cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value))
    cellar_book.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=11.7))
    standing = cellar_book.cellar()["B-1"]
    assert standing.value("total_so2_mg_l") == pytest.approx(90.0, abs=0.1)
    assert standing.figure("free_so2_mg_l").how == "calculated"


def test_honey_brings_volume_and_sugar(cellar_book: Book) -> None:
    """2.84 kg of honey in 225 L give about +10 g/L and 227.0 L (trade.md H.5, computed)."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    before = cellar_book.cellar()["T-2"].value("sugar_g_l")
    assert before is not None
    cellar_book.write(acts.Addition(vessel="T-2", substance="honey", amount=2_840.0))
    after = cellar_book.cellar()["T-2"]
    assert after.litres == pytest.approx(227.0, abs=0.1)
    # the figure 2.84 kg solves for +10 g/L in a dry mead; the mead's own sugar is diluted by 225/227
    assert after.value("sugar_g_l") == pytest.approx(before * 225 / 227 + 10.0, abs=0.1)


def test_days_in_wood_travel_with_the_mead(cellar_book: Book, clock: "Clock") -> None:
    """Half of a blend that spent 100 days in a barrel has the blend at 50 days of wood."""
    clock.pass_days(100)
    cellar_book.write(acts.Blend(vessel="T-2", draws=(("B-1", 100_000), ("T-1", 100_000))))
    assert cellar_book.cellar()["T-2"].mead_days_in_wood == pytest.approx(50, abs=0.1)


def test_molecular_so2_needs_ph(cellar_book: Book) -> None:
    """Without a pH there is no molecular SO2 to tell."""
    cellar_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=30.0))
    assert cellar_book.cellar()["B-1"].molecular_so2 is None
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.4))
    molecular = cellar_book.cellar()["B-1"].molecular_so2
    assert molecular is not None
    assert 0.3 < molecular < 3.0


def test_parting_and_joining_again_changes_nothing() -> None:
    """A volume parted in two and poured together is what it was."""
    held = Contents(1000, "lot")
    held.set(PLACE_OF["abv"], 13.0, 0.0)
    portion = held.take(400)
    held.join(portion)
    assert held.ml == 1000
    assert held.value(PLACE_OF["abv"]) == pytest.approx(13.0)
