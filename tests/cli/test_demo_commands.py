"""Every command on the demo cellar: what it answers is true, and adds up."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.programme.ageing.scoring.scoreboard import OF_LEVELS, ScoreLine
from cooperage.programme.ageing.scoring.scores import ForecastScore
from cooperage.resources import demo_folder

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


BRIEFS = demo_folder() / "briefs"


def test_rounds_tell_barrel_task_due_and_why(demo: "Cooperage") -> None:
    """The rounds have stops, each with what scripts rely on, in walking order."""
    stops = demo.json("rounds")
    assert stops
    assert all({"barrel", "task", "due", "why"} <= stop.keys() for stop in stops)
    assert {stop["task"] for stop in stops} <= {"gauge", "top", "sulphite", "va", "taste", "sniff"}
    places = [stop["position"] for stop in stops]
    assert places == sorted(places)
    assert len(demo.json("rounds", "--on", "2099-01-01")) > len(stops)


def test_one_task_or_one_room_of_the_rounds(demo: "Cooperage") -> None:
    """As a hand calls it or as scripts do; together the rooms are all of it."""

    def due(*only: str) -> list[Any]:
        return [{**stop, "level_now_l": None} for stop in demo.json("rounds", *only)]  # it sinks while one asks

    stops = due()
    sulphite = due("--only", "so2")
    assert sulphite == [stop for stop in stops if stop["task"] == "sulphite"] == due("--only", "sulphite")
    rooms = dict.fromkeys(stop["position"][0] for stop in stops)
    assert [stop for room in rooms for stop in due("--only", room)] == stops
    printed = demo.run("rounds", "--only", "SO2").stdout
    assert all(stop["barrel"] in printed for stop in sulphite)
    status, why = demo.refuses("rounds", "--only", "attic")
    assert (status, "'attic' is neither a task of the rounds nor a room" in why) == (2, True)
    assert demo.refuses("rounds", "--only", "so2", "--worth")[0] == 2


def test_the_readings_worth_most_are_named(demo: "Cooperage") -> None:
    """The best first, ten at most, each with the decision and its chances; the table has the same ones."""
    found = demo.json("rounds", "--worth")
    assert 0 < len(found) <= 10
    assert [row["spared_l"] for row in found] == sorted((row["spared_l"] for row in found), reverse=True)
    for row in found:
        assert {"vessel", "property", "decides", "what", "chance_percent", "low_percent", "high_percent"} <= row.keys()
        assert 0 <= row["low_percent"] < row["high_percent"] <= 100
    told = demo.run("rounds", "--worth").stdout.splitlines()
    assert all(row["vessel"] in line for row, line in zip(found, told[1:], strict=False))
    assert demo.refuses("rounds", "--worth", "--by", "2099-01-01")[0] == 2


def test_a_cellar_with_nothing_to_read_says_so(empty: "Cooperage") -> None:
    """What is missing first of all."""
    assert "The cellar has no vessels yet" in empty.run("rounds", "--worth").stdout


def test_barrels_have_what_scripts_rely_on(demo: "Cooperage") -> None:
    """48 barrels or more, none above its capacity, each with its lots."""
    barrels = demo.json("barrels")
    assert len(barrels) >= 48
    for barrel in barrels:
        assert {"tag", "litres", "capacity_l", "fills", "lots"} <= barrel.keys()
        assert 0 <= barrel["litres"] <= barrel["capacity_l"]
        assert sum(barrel["lots"].values()) == pytest.approx(1 if barrel["litres"] else 0)


def test_one_barrel_tells_its_figures_with_their_source(demo: "Cooperage") -> None:
    """Figures, entries and what is due next."""
    barrel = demo.json("barrel", "b-001")
    assert barrel["tag"] == "B-001"
    assert barrel["figures"]["abv"]["source"]
    assert barrel["figures"]["free_so2_mg_l"]["basis"].startswith("learned from ")
    assert barrel["figures"]["headspace_mm"]["basis"] is None
    assert barrel["entries"]
    assert barrel["due"]
    told = demo.run("barrel", "B-001").stdout
    assert told.startswith("B-001")
    assert re.search(r"^  basis   (?:.*, )?free SO2(?:, .*)?: learned from ", told, re.MULTILINE)


@pytest.mark.parametrize("code", ["SALT-25", "DUSK-26"])
def test_a_bottling_is_traced_to_lots_and_barrels_that_sum_to_one(demo: "Cooperage", code: str) -> None:
    """Fractions of lots sum to one, and so do those of barrels."""
    traced = demo.json("trace", code)
    assert traced["kind"] == "bottling"
    assert sum(share["fraction"] for share in traced["lots"]) == pytest.approx(1, abs=1e-9)
    assert sum(share["fraction"] for share in traced["barrels"]) == pytest.approx(1, abs=1e-9)
    assert sum(share["litres"] for share in traced["lots"]) == pytest.approx(traced["litres"])


def test_a_lot_is_traced_on_to_its_bottlings(demo: "Cooperage") -> None:
    """Where a lot went and is now sums to one, and names the bottling that holds it."""
    traced = demo.json("trace", "LB-24")
    assert sum(share["fraction"] for share in traced["now"]) == pytest.approx(1, abs=1e-9)
    assert "bottling SALT-25" in {share["name"] for share in traced["now"]}


@pytest.mark.slow
def test_check_counts_every_law(demo: "Cooperage") -> None:
    """All laws hold, and each looked at something, but those of filed periods: the demo has none."""
    result = demo.json("check")
    assert result["ok"] is True
    assert len(result["laws"]) >= 9
    assert all(law["broken"] == [] for law in result["laws"])
    assert all("filed period" in law["law"] for law in result["laws"] if not law["counted"])


def test_a_plan_that_draws_more_than_is_there_now_says_so(demo: "Cooperage", tmp_path: Path) -> None:
    """B-009 dips 12 L lower than the book has it; the plan goes by the book, and its line and its JSON by the dip."""
    brief = tmp_path / "all_of_it.toml"
    brief.write_text('litres = 220\n[draws]\nmust = ["B-009"]\nmax_stocks = 1\n', encoding="utf-8")
    (short,) = demo.json("blend", "solve", "--brief", str(brief))["short_now"]
    assert (short["vessel"], short["drawn_l"]) == ("B-009", 220.0)
    assert 205 < short["level_now_l"] < 218
    shown = demo.run("blend", "solve", "--brief", str(brief)).stdout
    # Each rounds the same level for itself: JSON to hundredths of a litre, the line to tenths.
    told = re.search(r"B-009 (\d+\.\d) of 220\.0 L\. Dip them first\.", shown)
    assert told is not None
    assert float(told[1]) == pytest.approx(short["level_now_l"], abs=0.0551)


def test_the_winter_brief_is_met_at_the_mixed_volume(demo: "Cooperage") -> None:
    """Optimal, and every limit of the brief holds for the blend as told."""
    answer = demo.json("blend", "solve", "--brief", str(BRIEFS / "winter_bottling.toml"))
    drained = {draw["stock"] for draw in answer["draws"] if not draw["left_l"]}
    assert {short["vessel"] for short in answer["short_now"]} <= drained  # by what has evaporated since
    assert answer["part_full"] < answer["price_of_tidiness"]["part_full_of_best"]
    assert 0 < answer["price_of_tidiness"]["price_percent"] <= 2
    assert answer["status"] == "optimal"
    blend = answer["blend"]
    assert blend["litres"] == pytest.approx(900, abs=1e-6)
    assert 12.2 - 1e-6 <= blend["abv"] <= 12.6 + 1e-6
    assert 73 - 1e-6 <= blend["sugar_g_l"] <= 77 + 1e-6
    assert blend["va_g_l"] <= 0.42 + 1e-6


def test_the_impossible_brief_says_what_clashes_and_what_is_nearest(demo: "Cooperage") -> None:
    """Exit status 3, the limits that clash, the nearest blend and what it misses."""
    done = demo.run("blend", "solve", "--brief", str(BRIEFS / "strong_and_dry.toml"), "--json")
    answer = json.loads(done.stdout)
    assert (done.exit_code, answer["status"]) == (3, "infeasible")
    assert answer["conflict"]
    assert answer["nearest"]["misses"]


@pytest.mark.slow
def test_a_blend_is_scaled_to_the_bench_and_poured(demo: "Cooperage") -> None:
    """The glass holds 100 ml; the pour empties and part-empties barrels, and the laws still hold."""
    brief = str(BRIEFS / "winter_bottling.toml")
    glass = demo.json("blend", "trial", "--brief", brief)
    assert sum(row["millilitres"] for row in glass["rows"]) == 100
    before = {v["tag"]: v["litres"] for v in demo.json("barrels", "--kind", "any")}
    tank = next(
        v["tag"]
        for v in demo.json("barrels", "--kind", "tank")
        if v["litres"] == 0 and v["capacity_l"] >= 900 and not v["retired"]
    )
    poured = demo.json("blend", "pour", "--brief", brief, "--into", tank)
    after = {v["tag"]: v["litres"] for v in demo.json("barrels", "--kind", "any")}
    assert after[tank] == pytest.approx(900, abs=0.01)
    for draw in poured["answer"]["draws"]:
        assert after[draw["stock"]] == pytest.approx(before[draw["stock"]] - draw["litres"], abs=0.001)
    assert poured["words"]
    assert demo.json("check")["ok"]


@pytest.mark.slow
def test_a_blend_is_not_poured_from_a_tank_into_itself(demo: "Cooperage", tmp_path: Path) -> None:
    """The plan draws on T-1; poured into T-1 it draws on others, and is dated as it was done."""
    winter = (BRIEFS / "winter_bottling.toml").read_text(encoding="utf-8")
    brief = tmp_path / "winter.toml"
    brief.write_text(winter, encoding="utf-8")
    solved = demo.json("blend", "solve", "--brief", str(brief))
    tank = next(draw["stock"] for draw in solved["draws"] if draw["stock"].startswith("T-"))
    poured = demo.json("blend", "pour", "--brief", str(brief), "--into", tank.lower(), "--when", "today", "--sure")
    assert tank not in {draw["stock"] for draw in poured["answer"]["draws"]}
    assert demo.json("check")["ok"]


@pytest.mark.slow
def test_topping_reading_and_striking(demo: "Cooperage") -> None:
    """A topping leaves the keg, a reading is told, and 'last' takes both back one by one."""
    before = {v["tag"]: v["litres"] for v in demo.json("barrels", "--kind", "any")}
    demo.run("log", "sample", "B-001", "1.2 L")
    written = demo.json("log", "top", "B-001", "1.2l", "--from", "K-01", "--hand", "Tove")
    assert written["litres"]["K-01"] == pytest.approx(before["K-01"] - 1.2)
    demo.json("log", "reading", "B-001", "ph", "3,41")
    assert demo.json("barrel", "B-001")["ph"] == pytest.approx(3.41)
    for _ in range(3):
        demo.json("log", "strike", "last", "--sure")
    assert {v["tag"]: v["litres"] for v in demo.json("barrels", "--kind", "any")} == pytest.approx(before)
    assert demo.json("check")["ok"]


@pytest.mark.slow
def test_retiring(demo: "Cooperage") -> None:
    """Candidates are told with reasons; an empty barrel is retired and gone from the list."""
    assert all(candidate["why"] for candidate in demo.json("retire"))
    empty = next(barrel["tag"] for barrel in demo.json("barrels") if barrel["litres"] == 0)
    demo.json("retire", empty, "--reason", "musty")
    assert empty not in {barrel["tag"] for barrel in demo.json("barrels")}
    assert empty in {barrel["tag"] for barrel in demo.json("barrels", "--retired")}


def test_a_flight_is_poured_scored_revealed_and_told(demo: "Cooperage") -> None:
    """Codes stay blind until revealed."""
    flight = demo.json("taste", "start", "B-001", "B-002", "B-003", "--code", "NEW")
    assert [glass["vessel"] for glass in flight["glasses"]] == [None] * 3
    for taster, base in (("Iko", 12), ("Jory", 14)):
        for place, glass in enumerate(flight["glasses"]):
            assert demo.run("taste", "score", "NEW", glass["code"], taster, str(base + place)).exit_code == 0
    status, line = demo.refuses("taste", "results", "NEW")
    assert (status, "still blind" in line) == (1, True)
    result = next(each for each in demo.json("taste", "flights") if each["code"] == "NEW")
    assert (result["scores"], result["tasters"]) == ([], ["Iko", "Jory"])
    demo.json("taste", "reveal", "NEW")
    rows = demo.json("taste", "results", "NEW")["rows"]
    assert {row["vessel"] for row in rows} == {"B-001", "B-002", "B-003"}
    assert rows[0]["mean"] >= rows[-1]["mean"]
    assert len(demo.json("taste", "flights")) == 9


@pytest.mark.slow
def test_losses_add_up_to_the_same_litres(demo: "Cooperage") -> None:
    """By whatever they are told, the losses are the same litres."""
    totals = {
        by: sum(row["lost_l"] for row in demo.json("losses", "--per", by))
        for by in ("cause", "barrel", "room", "lot", "wood", "month")
    }
    assert len({round(total, 3) for total in totals.values()}) == 1


def test_the_operations_report_balances(demo: "Cooperage") -> None:
    """What was on hand, came in, went out and was lost sums to what is on hand: to the millilitre."""
    for words in ((), ("--since", "2026-01-01"), ("--since", "2025-12-01", "--until", "2026-06-30")):
        rows = demo.json("report", "operations", *words)["rows"]
        volumes = [round(1000 * row["volume_l"]) for row in rows]
        assert sum(volumes[:-1]) == volumes[-1]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["stock", "rounds", "book", "losses", "bottlings", "operations"])
def test_every_report_in_every_form(demo: "Cooperage", name: str) -> None:
    """Text, CSV and JSON hold the same rows."""
    rows = demo.json("report", name)["rows"]
    table = demo.run("report", name, "--csv").stdout.splitlines()
    assert rows
    assert len(table) == len(rows) + 1
    printed = demo.run("report", name).stdout.splitlines()
    assert len(printed) >= len(rows) + 3
    assert printed[0].startswith("Oskmouth meadery: ")


def test_labels(demo: "Cooperage", tmp_path: Path) -> None:
    """A card names the barrel and warns where flame must not come; its code can be written as a picture."""
    spirit = next(b["tag"] for b in demo.json("barrels") if b["past_life"] and "whiskey" in b["past_life"])
    assert any("NO OPEN FLAME" in line for line in demo.json("label", spirit)["lines"])
    assert demo.json("label", "SALT-25", "--svg", str(tmp_path / "code.svg"))["code"] == "SALT-25"
    assert (tmp_path / "code.svg").read_text().lstrip().startswith("<?xml")
    assert "B-001" in demo.run("label", "B-001").stdout


@pytest.mark.slow
def test_export_and_import_and_copy_bring_the_same_cellar(
    demo: "Cooperage", tmp_path: Path, cooperage_at: "Callable[[Path], Cooperage]"
) -> None:
    """Out as CSV and in again, or copied row for row: the same litres, and every law holds."""
    want = {v["tag"]: v["litres"] for v in demo.json("barrels", "--kind", "any", "--retired")}
    assert demo.run("export", str(tmp_path / "out")).exit_code == 0
    again = cooperage_at(tmp_path / "again.db")
    assert again.run("import", str(tmp_path / "out"), "--dry-run").exit_code == 0
    assert not again.cellar.exists()
    again.json("import", str(tmp_path / "out"))
    assert demo.run("copy", "--to", str(tmp_path / "copy.db")).exit_code == 0
    for other in (again, cooperage_at(tmp_path / "copy.db")):
        assert {v["tag"]: v["litres"] for v in other.json("barrels", "--kind", "any", "--retired")} == want
        assert other.json("check")["ok"]


@pytest.mark.slow
def test_backup_and_restore(demo: "Cooperage", tmp_path: Path) -> None:
    """What was done after the backup is gone after the restore, and kept beside it."""
    copy = str(tmp_path / "backup.db")
    assert demo.run("backup", copy).exit_code == 0
    demo.json("log", "sample", "B-001", "100 ml")
    assert demo.refuses("restore", copy)[0] == 2
    assert demo.run("restore", copy, "--force").exit_code == 0
    assert demo.json("barrel", "B-001")["entries"][-1]["kind"] != "sample"
    assert demo.json("check")["ok"]


@pytest.mark.slow
def test_the_persons_units_are_shown_and_understood(demo: "Cooperage", tmp_path: Path) -> None:
    """With gallons and Brix in the settings, litres are told in gallons and a bare number means gallons."""
    config = tmp_path / "config.toml"
    config.write_text('volume = "gal"\ngravity = "brix"\nhand = "Maren"\n')
    env = {"COOPERAGE_CONFIG": str(config)}
    assert " gal" in demo.run("barrels", env=env).stdout
    before = demo.json("barrel", "K-01")["litres"]
    assert demo.run("log", "sample", "K-01", "0.1", env=env).exit_code == 0
    assert demo.json("barrel", "K-01")["litres"] == pytest.approx(before - 0.3785, abs=0.001)
    assert demo.json("barrel", "K-01")["entries"][-1]["hand"] == "Maren"
    line = demo.run("log", "rack", "K-01", "900", "--to", "T-1", env=env).stderr
    assert "gal" in line
    assert " l;" not in line


def test_building_the_demo_where_something_is_does_not_touch_it(demo: "Cooperage") -> None:
    """A demo that is there is opened as it was left; any other file is refused."""
    before = demo.cellar.read_bytes()
    assert "as it was left" in demo.run("demo", "--no-ui", "--at", str(demo.cellar)).stdout
    assert demo.cellar.read_bytes() == before
    notes = demo.cellar.with_name("notes.txt")
    notes.write_text("a year's work")
    assert demo.refuses("demo", "--no-ui", "--at", str(notes))[0] == 2
    assert notes.read_text() == "a year's work"


def test_a_bench_trial_is_tasted_blind_and_its_scores_come_back(demo: "Cooperage") -> None:
    """The glasses of a trial are poured as a flight; revealed, the results name the plans."""
    brief = str(BRIEFS / "winter_bottling.toml")
    result = demo.json("blend", "trial", "--brief", brief, "--others", "1", "--flight")
    codes = [glass["code"] for glass in result["glasses"]]
    for taster in ("Iko", "Jory"):
        for place, code in enumerate(codes):
            assert demo.run("taste", "score", result["flight"], code, taster, str(12 + place)).exit_code == 0
    revealed = demo.json("taste", "reveal", result["flight"])
    assert {glass["what"].partition(":")[0] for glass in revealed["glasses"]} == {
        glass["what"] for glass in result["glasses"]
    }
    assert [row["glass"] for row in demo.json("taste", "results", result["flight"])["rows"]] == codes[::-1]


def test_a_report_is_headed_by_the_time_zone_of_its_days(demo: "Cooperage") -> None:
    """On paper in the first line; in JSON beside the title, since its moments are in UTC."""
    today = ("report", "book", "--since", "today")
    head, *rest = demo.run(*today).stdout.splitlines()
    assert head.endswith("(times in UTC)")
    assert not any("times in" in line.casefold() for line in rest)
    found = demo.json(*today)
    assert (found["days_in"], found["times_in"]) == ("UTC", "UTC")
    assert "times in" not in demo.run(*today, "--csv").stdout


def test_a_figure_whose_unit_varies_has_it_beside_it(demo: "Cooperage", tmp_path: Path) -> None:
    """Figures of a vessel, readings of a slip, limits of a blend; where it is fixed it is in the key."""
    figures = demo.json("barrel", "B-001")["figures"]
    assert {name: figure["unit"] for name, figure in figures.items()} == {
        "abv": "% vol",
        "sugar_g_l": "g/L",
        "ta_g_l": "g/L",
        "va_g_l": "g/L",
        "free_so2_mg_l": "mg/L",
        "total_so2_mg_l": "mg/L",
        "ph": "",
        "sg": "SG",
        "temperature_c": "°C",
        "co2_g_l": "g/L",
        "turbidity_ntu": "NTU",
        "heat_haze_ntu": "NTU",
        "headspace_mm": "mm",
        "molecular_so2_mg_l": "mg/L",
    }
    slip = tmp_path / "slip.txt"
    slip.write_text("B-001 free 24 pH 3.41\n")
    readings = demo.json("lab", str(slip), "--dry-run")["readings"]
    assert [row["unit"] for row in readings] == ["mg/L", ""]
    assert readings[0]["in_book"] == round(readings[0]["in_book"], 2) > 0
    winter = (demo_folder() / "briefs" / "winter_bottling.toml").read_text(encoding="utf-8")
    (tmp_path / "any.toml").write_text(f'{winter}part_full = "any"\n', encoding="utf-8")  # its last table is [draws]
    answer = demo.json("blend", "solve", "--brief", str(tmp_path / "any.toml"))
    assert {row["limit"]: row["unit"] for row in answer["binding"]} == {
        "litres": "L",
        "sugar_g_l": "g/L",
        "share group:new oak": "fraction",
    }
    assert answer["price_of_tidiness"] is None
    assert {row["limit"]: row["unit"] for row in answer["chances"]}["abv"] == "% vol"
    assert all({"litres", "left_l"} < draw.keys() for draw in answer["draws"])


def test_scores_have_their_unit_and_what_is_set_aside(empty: "Cooperage", monkeypatch: pytest.MonkeyPatch) -> None:
    """Levels in litres; what is set aside is named below the table, with its reason."""
    assert "nothing to score" in empty.run("forecast", "--scored").stdout
    level = ForecastScore("level", 9, 50.0, -20.0, (0.5, 0.8, 1.0), 40.0, 80.0, 30.0)
    ph = ForecastScore("ph", 7, 0.03, 0.01, (0.5, 0.8, 1.0), 0.02, 0.02, 0.0)
    aside = "as last read, which came nearer over 30 readings here than ageing it"
    lines = [ScoreLine(level, OF_LEVELS, is_set_aside=False), ScoreLine(ph, aside, is_set_aside=True)]
    monkeypatch.setattr("cooperage.cli.scored.scoreboard", lambda book, tags: lines)
    rows = {row["figure"]: row for row in empty.json("forecast", "--scored")}
    assert (rows["level"]["unit"], rows["level"]["error"], rows["level"]["bias"]) == ("L", 0.05, -0.02)
    assert (rows["ph"]["is_set_aside"], rows["ph"]["basis"], rows["ph"]["held_95_percent"]) == (True, aside, 100.0)
    told = empty.run("forecast", "--scored").stdout
    assert f"pH: came no nearer than the figure as last read; shown now: {aside}" in told
    assert "level: " not in told
