"""Closing a period asks, and what was closed stays: on a command line where no answer can be given, too."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_a_period_is_not_closed_unasked(demo: "Cooperage") -> None:
    """Where no answer can be given it files nothing, and says how to look and how to go on; so for a correction."""
    status, line = demo.refuses("period", "close", "last month")
    code = demo.json("period", "show", "last month")["period"]
    assert status != 0
    assert line.endswith(
        f"this files {code} in L for good. Look with `cooperage period show {code}`, then repeat with --sure."
    )
    assert demo.json("period", "list") == []
    assert demo.json("period", "close", "last month", "--sure")["period"] == code
    _, line = demo.refuses("period", "close", "last month", "--correct")
    assert "there is nothing to correct" in line
    demo.run("log", "sample", "B-001", "100ml", "--when", f"{code}-09")
    _, line = demo.refuses("period", "close", "last month", "--correct")
    assert f"this files {code} in L for good" in line
    assert len(demo.json("period", "list")) == 1


def test_a_correction_is_in_the_unit_of_what_it_corrects(demo: "Cooperage") -> None:
    """Unless another is asked for."""
    code = demo.json("period", "close", "last month", "--unit", "gal", "--sure")["period"]
    demo.run("log", "sample", "B-001", "100ml", "--when", f"{code}-09")
    corrected = demo.json("period", "close", "last month", "--correct", "--sure")
    assert (corrected["period"], corrected["unit"]) == (f"{code}/2", "gal")


def test_a_period_is_printed_as_a_page_in_the_unit_that_is_asked(demo: "Cooperage") -> None:
    """What was filed in litres is shown in gallons, and says so; the page has the notes of the table."""
    code = demo.json("period", "close", "last month", "--sure")["period"]
    page = demo.run("period", "show", code, "--unit", "gal", "--html").stdout
    assert f"Period {code}" in page
    assert "in US gal: filed in L" in page
    assert "difference of rounded running totals" in page
    assert demo.json("period", "show", code)["unit"] == "L"


def test_what_is_no_period_is_answered_with_what_is(demo: "Cooperage") -> None:
    status, line = demo.refuses("period", "show", "nonsense")
    assert (status, "'nonsense' is not a period; type one such as 2026-06" in line) == (2, True)
