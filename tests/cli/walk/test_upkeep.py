"""The care of several vessels from the command line."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_several_vessels_are_changed_and_told_together(demo: "Cooperage") -> None:
    """By tag, in one go; the word default goes back, and the others keep what they had."""
    result = demo.json("upkeep", "B-041", "b-042", "--every", "21", "--va-ceiling", "0,65")
    assert [(row["tag"], row["top_every_days"], row["va_ceiling_g_l"]) for row in result] == [
        ("B-041", 21, 0.65), ("B-042", 21, 0.65)
    ]  # fmt: skip
    assert demo.json("upkeep", "B-041", "--every", "default")["top_every_days"] == 14
    assert demo.json("upkeep", "B-042")["top_every_days"] == 21
    assert "changed: 2 vessels" in demo.run("upkeep", "B-041", "B-042", "--every", "9").stdout


def test_barrels_are_chosen_by_what_they_have_in_common(demo: "Cooperage") -> None:
    """All barrels of a room and a wood."""
    result = demo.json("upkeep", "--room", "loft", "--wood", "white oak", "--taste-every", "33")
    assert len(result) > 1
    assert {row["taste_every_days"] for row in result} == {33}
    here = {row["tag"]: (row["room"], row["wood"]) for row in demo.json("barrels")}
    assert {here[row["tag"]] for row in result} == {("Loft", "white oak")}


def test_what_makes_no_sense_changes_nobody(demo: "Cooperage") -> None:
    """Nobody named, nobody there, an unknown keg, a number that cannot be: one line each."""
    before = demo.json("upkeep", "B-041")
    assert demo.refuses("upkeep")[0] == 2
    assert demo.refuses("upkeep", "--wood", "balsa")[0] == 2
    assert demo.refuses("upkeep", "B-041", "--from", "K-99")[0] == 2
    assert demo.refuses("upkeep", "B-041", "B-999", "--every", "3")[0] == 2
    assert demo.refuses("upkeep", "B-041", "--every", "0") == (
        2, "cooperage: every: top every 0 is not possible; it lies between 1 and 730"
    )  # fmt: skip
    assert demo.json("upkeep", "B-041") == before
