"""What the cellar is worth, what a code has cost, what the angels cost: one answer at every door, in the currency."""

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_the_value_adds_up_in_json(demo: "Cooperage") -> None:
    """To the cent: what came in is what is left, went out and was lost; each list has the sum it should."""
    found = demo.json("value")
    sums = {name: round(sum(found[name].values()), 2) for name in ("came_in", "left", "went_out", "lost")}
    assert sums["came_in"] == pytest.approx(sums["left"] + sums["went_out"] + sums["lost"], abs=0.005)
    assert found["currency"] == "EUR"
    assert found["sum"]["known_value"] == pytest.approx(sums["left"], abs=0.005)
    for by in ("lot", "bottling", "vessel"):
        assert demo.json("value", "--per", by)["sum"]["known_value"] == pytest.approx(sums["left"], abs=0.005)


def test_what_is_not_known_is_named_with_its_litres(demo: "Cooperage") -> None:
    """Three barrels of the demo have no price: no value, but the known part of it, and whose price is missing."""
    found = demo.json("value")
    barrels = {each["of"]: each["concerns_l"] for each in found["not_known"] if each["what"] == "barrel"}
    assert barrels.keys() == {"B-011", "B-029", "B-046"}
    assert found["sum"]["value"] is None
    text = demo.run("cost", "B-011").stdout
    assert "at least" in text
    assert f"the price of barrel B-011 ({barrels['B-011']:.1f} L)" in text
    assert "its price ?, of which ?" in text
    [cost] = demo.json("cost", "B-011")["costs"]
    assert (cost["cost"], cost["price"]) == (None, None)
    assert cost["known_cost"] > 0


def test_at_a_past_day_there_was_less(demo: "Cooperage") -> None:
    """Before the first entry nothing had come in; half the demo's time ago fewer bottles were there."""
    assert demo.json("value", "--as-of", "2020-01-01")["came_in"].get("lots") is None
    then, now = (demo.json("value", "--per", "bottling", *day)["rows"] for day in (("--as-of", "250 days ago"), ()))
    others = ["mead in vessels", "barrels, left of their price"]
    assert [row["what"] for row in now] == ["SALT-25", "DUSK-26", *others]
    assert [row["what"] for row in then] == ["SALT-25", *others]
    assert then[0]["cost_per_bottle"] == now[0]["cost_per_bottle"]


def test_a_price_holds_from_its_day_on(demo: "Cooperage") -> None:
    """Dearer bottles from before the first bottling on make both dearer; one from today on changes nothing."""

    def per_bottle() -> list[float]:
        rows = demo.json("value", "--per", "bottling")["rows"]
        return [row["cost_per_bottle"] for row in rows if row["bottles"]]

    before = per_bottle()
    demo.json("prices", "set", "label", "0.22")
    assert per_bottle() == before
    demo.json("prices", "set", "label", "0.22", "--since", "700 days ago")
    assert [after - was for after, was in zip(per_bottle(), before, strict=True)] == pytest.approx([0.1, 0.1])


def test_the_angels_cost_the_same_however_they_are_added_up(demo: "Cooperage") -> None:
    """By month, room, wood or barrel; and their litres are those of `losses`."""
    sums = [demo.json("angels", "--per", per)["sum"] for per in ("month", "room", "wood", "barrel")]
    assert {(each["taken_l"], each["known_cost"], each["of_unknown_cost_l"]) for each in sums} == {
        (sums[0]["taken_l"], sums[0]["known_cost"], sums[0]["of_unknown_cost_l"])
    }
    lost = demo.json("losses", "--since", "this year", "--per", "cause")[0]["causes_l"]
    wood = sum(litres for cause, litres in lost.items() if cause in ("evaporated", "soaked"))
    assert sums[0]["taken_l"] == pytest.approx(wood)


def test_every_door_shows_sums_in_the_currency(demo: "Cooperage") -> None:
    """Lists, pages and papers; nothing is converted when it changes, and prices of another one are not counted."""
    assert "EUR/litre month" in demo.run("wood").stdout
    assert demo.json("barrels")[0]["currency"] == demo.json("wood")[0]["cost"]["currency"] == "EUR"
    assert "EUR" in demo.run("report", "value").stdout
    assert (
        demo.run("report", "value", "--csv").stdout.splitlines()[0] == "what,volume_l,bottles,value_eur,known_value_eur"
    )
    demo.run("cellar", "currency", "jpy")
    assert "JPY/litre month" in demo.run("wood").stdout
    assert "EUR (not counted: another currency)" in demo.run("prices", "list").stdout
    gaps = {each["of"] for each in demo.json("value")["not_known"] if each["what"] == "price"}
    assert {"metabisulphite", "bottle 750", "label 500"} <= gaps


def test_without_a_currency_it_says_so(empty: "Cooperage") -> None:
    """And an empty cellar has nothing, not zero of something unknown."""
    done = empty.run("value").stdout
    assert "Nothing is in the cellar." in done
    assert "No currency is set" in done
    assert empty.json("value")["currency"] is None
    assert empty.json("prices", "list") == []


def test_a_code_that_is_none_is_refused(demo: "Cooperage") -> None:
    """With the nearest there is, and the exit status of bad input."""
    status, line = demo.refuses("cost", "SALT-52")
    assert (status, "did you mean SALT-25" in line) == (2, True)
    status, line = demo.refuses("cost", "salt-25", "--as-of", "2020-01-01")
    assert (status, "SALT-25 was bottled later, on " in line) == (2, True)
    for words in (("value",), ("cost", "B-001")):
        status, line = demo.refuses(*words, "--as-of", "2099-01-01")
        assert (status, "2099-01-01 lies ahead" in line) == (2, True)
    status, line = demo.refuses("value", "--per", "barel")
    assert (status, "vessel" in line) == (2, True)
