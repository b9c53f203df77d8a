"""`cooperage trial barrels` on the demo: power before anything is kept, blind flights, an answer that can be read."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage

pytestmark = pytest.mark.usefixtures("learned_once")

BARRELS = "B-042 B-048 B-024 B-030 B-036 B-006 B-012 B-018"
PLAN = ("trial", "barrels", "plan", "does topping monthly keep it fresher?", "--barrels", BARRELS)
DRAWN = (*PLAN, "--treatment", "weekly=topped every 7 days", "--treatment", "monthly", "--seed", "4")
KEPT = (*DRAWN, "--trial", "TOP", "--taster", "Ada", "--taster", "Bea", "--keep")


@pytest.mark.slow
def test_a_plan_shows_its_power_and_keeps_nothing(demo: "Cooperage") -> None:
    found = demo.json(*DRAWN, "--least-difference", "1.5", "--block", "room")
    power = found["power"]
    assert power["found_low_percent"] < power["found_percent"] < power["found_high_percent"]
    assert power["unit"] == "points of 0-20"
    assert {each["treatment"] for each in found["barrels"]} == {None}
    assert found["seed"] is None
    assert {each["block"] for each in found["barrels"]} == {"Loft", "Long", "Low"}
    assert demo.json("trial", "barrels", "list") == []
    printed = demo.run(*DRAWN, "--least-difference", "1.5").stdout
    assert "A difference of 1.5 points would be found in " in printed
    assert "Nothing is kept; repeat it with --keep to draw the treatments and keep it." in printed
    compared = demo.run(*PLAN, "--compare", "room").stdout
    assert "Nothing is kept; repeat it with --keep to keep it." in compared
    assert "No trial across barrels yet" in demo.run("trial", "barrels", "list").stdout


@pytest.mark.slow
def test_the_walk_from_plan_to_answer(demo: "Cooperage") -> None:
    kept = demo.json(*KEPT)
    assert {each["treatment"] for each in kept["barrels"]} == {"weekly", "monthly"}
    assert "flight: pour flight 1 of 1 of trial TOP: 8 barrels" in demo.run("today").stdout
    poured = demo.json("trial", "barrels", "flight", "top")["flight"]
    assert poured["code"] == "TOP-1"
    weekly = {each["vessel"] for each in kept["barrels"] if each["treatment"] == "weekly"}
    for glass in poured["to_pour"]:
        for taster, higher in (("Ada", 0.0), ("Bea", 1.0)):
            value = 11 + higher + 3 * (glass["vessel"] in weekly) + glass["position"] / 4
            assert demo.run("taste", "score", "TOP-1", glass["code"], taster, str(value)).exit_code == 0
    assert demo.refuses("trial", "barrels", "results", "TOP")[0] == 1
    demo.json("taste", "reveal", "TOP-1")
    found = demo.json("trial", "barrels", "results", "TOP")
    [pair] = found["differences"]
    by_hand = sum((1 if each["vessel"] in weekly else -1) * each["position"] / 16 for each in poured["to_pour"]) + 3
    assert pair["difference"] == pytest.approx(by_hand, rel=1e-3)
    assert pair["low"] < by_hand < pair["high"]
    assert found["degrees_of_freedom"] == 6
    assert found["flights"] == ["TOP-1"]
    printed = demo.run("trial", "barrels", "results", "TOP").stdout
    assert pair["words"] in printed
    assert "Stated beforehand:" in printed
    assert "all is in" in demo.run("trial", "barrels", "list").stdout
    assert demo.json("trial", "barrels", "withdraw", "TOP", "--why", "enough")["withdrawn"]["why"] == "enough"


def objects(value: Any) -> list[str]:
    """Every object of JSON that holds no other, as a line."""
    if isinstance(value, dict):
        plain = {key: item for key, item in value.items() if not isinstance(item, dict | list)}
        return [str(plain), *(line for item in value.values() for line in objects(item))]
    return [line for item in value for line in objects(item)] if isinstance(value, list) else [str(value)]


@pytest.mark.slow
def test_while_its_flight_is_blind_no_door_ties_a_glass_or_a_treatment_to_a_barrel(demo: "Cooperage") -> None:
    """But for the list that whoever pours gets once."""
    tags = [each["vessel"] for each in demo.json(*KEPT)["barrels"]]
    poured = demo.json("trial", "barrels", "flight", "TOP")["flight"]
    codes = [glass["code"] for glass in poured["to_pour"]]
    assert all(glass["vessel"] is None for glass in poured["glasses"])
    doors = [("trial", "barrels", "show", "TOP"), ("trial", "barrels", "list"), ("barrel", tags[0])]
    for door in doors:
        told = [demo.run(*door, *more).stdout.replace("topping monthly", "") for more in ([], ["--json"])]
        for line in (*told[0].splitlines(), *objects(json.loads(told[1]))):
            assert not (any(tag in line for tag in tags) and any(f"'{code}'" in line for code in codes))
            assert not (any(tag in line for tag in tags) and ("weekly" in line or "monthly" in line)), line
    assert demo.json("barrel", tags[0])["trials"] == [
        {"trial": "TOP", "question": "does topping monthly keep it fresher?", "treatment": None}
    ]
    assert demo.json("trial", "barrels", "show", "TOP")["seed"] is None
    demo.json("taste", "reveal", "TOP-1", "--sure")
    assert demo.refuses("trial", "barrels", "results", "TOP")[0] == 1  # nobody scored


REFUSED = {
    "name the treatments to be drawn": PLAN,
    "give it as B-042=heavy": (*PLAN, "--give", "B-042"),
    "nothing that barrels differ in": (*PLAN, "--compare", "rum"),
    "is a keg, not a barrel": (*PLAN[:4], "--barrels", "B-042 K-01", "--compare", "wood"),
    "give more barrels": (*PLAN[:4], "--barrels", "B-042 B-048", "--compare", "tier"),
    "from 50 to 99": (*DRAWN, "--confidence", "30"),
    "there is no trial NONE": ("trial", "barrels", "show", "NONE"),
}


@pytest.mark.slow
def test_what_cannot_be_is_refused_in_one_line(demo: "Cooperage") -> None:
    for says, words in REFUSED.items():
        status, why = demo.refuses(*words)
        assert status in (1, 2)
        assert says in why


@pytest.mark.slow
def test_words_choose_barrels_and_a_decimal_comma_is_read(
    demo: "Cooperage", tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Words that filter racks leave the lot's keg out; a difference is read and shown as the person writes numbers."""
    (tmp_path / "settings.toml").write_text('decimal = ","\n')
    monkeypatch.setenv("COOPERAGE_CONFIG", str(tmp_path / "settings.toml"))
    printed = demo.run(*PLAN[:4], "--barrels", "lot QU-25", *DRAWN[6:], "--least-difference", "1,5").stdout
    assert "A difference of 1,5 points would be found" in printed
    assert "8 barrels; 2 treatments of 4 barrels each" in printed
