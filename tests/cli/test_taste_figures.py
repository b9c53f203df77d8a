"""`taste difference` and `taste tasters`: arithmetic that needs no cellar, and records of closed flights."""

import re
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.cli.taste.difference import NAMES
from cooperage.tasting.statistics.difference.counts import TESTS

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_every_difference_test_has_its_name() -> None:
    """The help names the tests without loading them."""
    assert list(NAMES) == list(TESTS)


def test_right_answers_are_judged(demo: "Cooperage") -> None:
    """Nine of fifteen: a difference, its chance by guessing, the panel it needs; the same in JSON, with no infinity."""
    lines = demo.run("taste", "difference", "triangle", "9", "--of", "15").stdout.splitlines()
    assert lines[0] == "triangle: two glasses are the same; which is the odd one?"
    found: Any = demo.json("taste", "difference", "Triangle", "9", "--of", "15")
    assert lines[1:] == found["words"]
    assert (found["difference_shown"], found["right_needed"], found["tasters_needed"]) == (True, 9, 16)
    assert found["p"] == pytest.approx(0.0308, abs=5e-5)
    assert demo.json("taste", "difference", "tetrad", "4", "--of", "4")["d_prime"] is None


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("triangle", "16", "--of", "15"), "16 right answers of 15 cannot be"),
        (("triangel", "9", "--of", "15"), "did you mean triangle"),
        (("triangle", "9", "--of", "15", "--alpha", "5"), "5.0 is not a chance"),
        (("triangle", "9", "--of", "15", "--power", "80"), "80.0 is not a chance"),
        (("triangle", "9", "--of", "15", "--share", "1"), "is not a chance"),
    ],
)
def test_what_is_no_result_is_refused_in_one_line(demo: "Cooperage", words: tuple[str, ...], message: str) -> None:
    assert message in demo.refuses("taste", "difference", *words)[1]


def test_the_tasters_of_the_demo(demo: "Cooperage") -> None:
    """Four tasters over its closed flights: a row each, and the one whose bias is beyond doubt named so."""
    (scale,) = demo.json("taste", "tasters")["scales"]
    closed = sum(row["revealed_at"] is not None for row in demo.json("taste", "flights"))
    assert (scale["scale"], scale["flights"]) == ("0-20", closed)
    assert [row["taster"] for row in scale["tasters"]] == ["Iko", "Jory", "Maren", "Tove"]
    for row in scale["tasters"]:
        assert row["bias_points_low"] < row["bias_points"] < row["bias_points_high"]
    assert scale["tasters"][0]["steady_sd_points_high"] is None  # few hidden duplicates: past the end of the scale
    shown = demo.run("taste", "tasters").stdout
    assert "or more" in shown
    assert re.search(r"Maren scores 1\.\d points higher than the others", shown)
    assert "no closed flight has a score for 'seaweed'" in demo.run("taste", "tasters", "seaweed").stdout


@pytest.fixture
def panel(demo: "Cooperage") -> Any:
    """A flight of three for two tasters, as `taste start --json` prints it."""
    named = ("--taster", "Anna", "--taster", "Jory")
    return demo.json("taste", "start", "B-001", "B-002", "B-003", "--code", "S", "--attribute", "honey", *named)


def test_a_score_prints_what_was_written(demo: "Cooperage", panel: Any) -> None:
    """One line, by options as by a line, with the name as the flight has it."""
    code = panel["glasses"][0]["code"]
    assert demo.run("taste", "score", "S", code, "anna", "12.5").stdout == f"{code}  Anna  overall 12.5\n"
    by_line = demo.run("taste", "score", "S", code, "Jory", "--line", "6 12 round; keep").stdout
    assert by_line == f"{code}  Jory  honey 6 · overall 12 · “round” · keep\n"


def test_a_name_that_is_new_is_asked_back_at_the_commands(demo: "Cooperage", panel: Any) -> None:
    """A sheet that is only printed adds no taster; with --sure it does."""
    code = panel["glasses"][0]["code"]
    for words in (("sheet", "S", "--taster", "Jry"), ("score", "S", code, "Jry", "12")):
        assert demo.refuses("taste", *words) == (
            1,
            "cooperage: Jry is not among the tasters of S (Anna, Jory); did you mean Jory? Give --sure to add Jry.",
        )
    assert next(row for row in demo.json("taste", "flights") if row["code"] == "S")["orders"].keys() == {"Anna", "Jory"}
    assert demo.run("taste", "score", "S", code, "Jry", "12", "--sure").stdout == f"{code}  Jry  overall 12\n"


def test_scores_that_are_piped_in_are_named_so(demo: "Cooperage", panel: Any) -> None:
    """No file of the person's is called so."""
    done = demo.run("taste", "score", "S", "--file", "-", piped="taster,glass,overall\nAnna,000,12\n")
    assert done.stderr.startswith("cooperage: standard input line 2, column glass: there is no glass '000'")


def test_results_are_in_the_persons_decimal_sign(demo: "Cooperage", tmp_path: Any) -> None:
    """Tables, the words under them, what a line of scores came to, and what barrels to buy."""
    config = tmp_path / "own.toml"
    config.write_text('decimal = ","\n')
    ask = ("taste", "start", "B-001", "B-002", "--code", "F-99", "--taster", "Tove")
    glass = demo.json(*ask)["glasses"][0]
    given = ("taste", "score", "F-99", glass if isinstance(glass, str) else glass["code"], "Tove", "--line", "12,5")
    for words in (("taste", "results", "F-4"), ("taste", "tasters"), given, ("wood", "--need")):
        shown = demo.run(*words, env={"COOPERAGE_CONFIG": str(config)}).stdout
        assert re.search(r"\d,\d", shown)
        assert not re.search(r"\d\.\d", shown)


def test_each_row_of_results_has_its_scale_and_four_digits(demo: "Cooperage") -> None:
    """Points mean nothing without the scale; a float's own digits are no knowledge."""
    found = demo.json("taste", "results", "F-4")
    for row in found["rows"]:
        assert row["scale"] == found["scale"] == "0-20"
        for name in ("mean", "adjusted", "standard_error", "band"):
            assert len(str(row[name]).replace(".", "").strip("0")) <= 4


def test_a_flight_poured_by_mistake_is_closed_without_a_score(demo: "Cooperage", panel: Any) -> None:
    """The question names the way; the help too."""
    line = demo.refuses("taste", "reveal", "S")[1]
    assert line.endswith("with --sure. It closes a flight that was poured by mistake, too.")
    assert demo.json("taste", "reveal", "S", "--sure")["revealed_at"] is not None
    assert "poured by mistake" in demo.run("taste", "reveal", "--help").stdout
