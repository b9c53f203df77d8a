"""`cooperage ready` on the demo: defined, shown at every door, scored, withdrawn."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage

DEFINED = "overall at least 14; oak at most 6; va at most 0.7"


def test_a_definition_and_what_follows(demo: "Cooperage") -> None:
    """Before it nothing is foreseen and every door is as before; after it each barrel stands somewhere."""
    assert "cooperage ready define" in demo.run("ready").stdout
    assert demo.json("ready") == demo.json("ready", "definitions") == demo.json("today")["ready"] == []
    assert demo.json("barrel", "B-027")["ready"] is None
    written = demo.json("ready", "define", DEFINED, "--hand", "Maren", "--chance", "60")
    assert (written["wanted_chance"], written["risk"], written["hand"], written["lot"]) == (0.6, 0.1, "Maren", None)
    assert written["limits"][1] == {"name": "oak", "side": "at most", "value": 6.0, "unit": "points", "scale": ""}
    assert written["limits"][2]["unit"] == "g/L"
    rows = {row["vessel"]: row for row in demo.json("ready")}
    assert rows["B-027"]["state"] == "ready now"
    assert rows["B-028"]["state"] == "in quarantine"
    assert {row["definition"] for row in rows.values()} == {"overall at least 14; oak at most 6; VA at most 0.7 g/L"}
    assert all(len(row["chance_by_week"]) == 53 for row in rows.values() if row["chance"] is not None)
    shown = demo.run("ready", "--vessel", "b-027").stdout
    assert "B-027" in shown
    assert "B-028" not in shown
    assert {row["lot"] for row in demo.json("ready", "--lot", "he-24")} == {"HE-24"}
    assert demo.json("barrel", "B-027")["ready"]["chance"] == rows["B-027"]["chance"]
    brief = next(row for row in demo.json("today")["ready"] if row["vessel"] == "B-027")
    assert brief["opens"] == rows["B-027"]["opens"]
    assert " ready: " in demo.run("today").stdout


def test_what_is_in_force_and_what_holds_after_a_withdrawal(demo: "Cooperage") -> None:
    """Marked in the list, and said; what the ± is stands under the barrels."""
    for words in ((DEFINED,), ("overall at least 15",), ("overall at least 16", "--lot", "HE-24")):
        demo.json("ready", "define", *words)
    assert [row["in_force"] for row in demo.json("ready", "definitions")] == [False, True, True]
    lines = demo.run("ready", "definitions").stdout.splitlines()[1:]
    assert [line.endswith("in force") for line in lines] == [False, True, True]
    said = demo.run("ready", "withdraw", "--lot", "he-24").stdout
    assert said.endswith("What holds for HE-24 now is the cellar's: overall at least 15.\n")
    assert demo.json("ready", "withdraw")["holds_now"] is None
    demo.json("ready", "define", DEFINED)
    assert demo.run("ready", "withdraw").stdout.endswith("Nothing is defined as ready for the cellar now.\n")


@pytest.mark.slow
def test_scores_are_gathered_once(demo: "Cooperage", monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """For the forecast and for the usual time together, where nothing of it is kept."""
    from cooperage.programme.ready import tasted

    gathered, gather = [], tasted.panel_looks

    def counted(*given: Any) -> Any:
        gathered.append(given)
        return gather(*given)

    monkeypatch.setattr(tasted, "panel_looks", counted)
    demo.json("ready", "define", "overall at least 14")
    monkeypatch.setenv("COOPERAGE_CACHE", str(tmp_path / "none kept"))
    assert "Of 30 fills that panels scored" in demo.run("ready").stdout
    assert len(gathered) == 1


def test_past_forecasts_are_scored(demo: "Cooperage") -> None:
    """Each attribute on its own scale, against what stood before; without a definition too."""
    rows = {(row["scored"], row["scale"]): row for row in demo.json("ready", "--scored")}
    overall = rows["overall", "0-20"]
    assert overall["looks"] > 5
    assert overall["score_points"] < overall["mean_of_lot_error_points"]
    assert "as last" in demo.run("ready", "--scored").stdout


def test_what_is_refused(demo: "Cooperage") -> None:
    """One line each, with what to do."""
    assert demo.refuses("ready", "define", "oak at most")[1].endswith("age at least 6")
    assert "nothing can be both" in demo.refuses("ready", "define", "oak at most 4; oak at least 6")[1]
    assert "1 to 99" in demo.refuses("ready", "define", DEFINED, "--risk", "0")[1]
    assert "there is no lot" in demo.refuses("ready", "define", DEFINED, "--lot", "XX")[1]
    status, line = demo.refuses("ready", "withdraw")
    assert (status, "cooperage ready definitions" in line) == (1, True)
    assert "no vessel" in demo.refuses("ready", "--vessel", "B-999")[1].lower()
    assert demo.json("ready", "definitions") == []
