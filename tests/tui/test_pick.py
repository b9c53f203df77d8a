"""Letters typed at a choice, and in a list: they narrow it, by all the words of a line."""

from typing import Any

import pytest
from textual.widgets import OptionList

from cooperage.exchange.reports.reports import REPORTS
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.shared.choices import Choice
from cooperage.tui.shared.dialogs import Pick
from tests.tui.test_scans import FORMS, forms

pytestmark = pytest.mark.slow


def offered(pilot: Any) -> list[str]:
    return [str(option.id) for option in pilot.app.screen.query_one(OptionList).options]


def under(pilot: Any) -> str:
    listed = pilot.app.screen.query_one(OptionList)
    return str(listed.get_option_at_index(listed.highlighted).id)


@pytest.mark.parametrize("name", FORMS)
async def test_nothing_typed_at_a_choice_vanishes(opened: Any, press: Any, name: str, tmp_path: Any) -> None:
    """Of every form: its list comes up with what was typed, which it has or has not; y and n answer yes or no."""
    async with opened(page="book") as pilot:
        dialog = forms(pilot.app.desk, tmp_path)[name]
        pilot.app.push_screen(dialog)
        await press(pilot)
        rows = [row for row in getattr(dialog, "rows", {}).values() if row.display]
        for row in (row for row in rows if row.kind == "choice"):
            row.take_focus()
            stood = row.typed
            await press(pilot, "12")
            assert isinstance(pilot.app.screen, Pick), row.field.name
            words = str(pilot.app.screen.query_one("#typed").render())
            assert words in ("typed: 12", "no line has “12”")
            await press(pilot, "escape")
            assert pilot.app.screen is dialog
            assert (row.typed, row.is_focused) == (stood, True)
        for row in (row for row in rows if row.kind == "flag"):
            row.take_focus()
            await press(pilot, "y")
            assert row.text == "yes"
            await press(pilot, "1")
            assert row.complaint == "answer y or n; Space turns it"
            await press(pilot, "n")
            assert (row.text, row.complaint) == ("", "")


async def test_letters_at_a_choice_choose_from_it(opened: Any, press: Any) -> None:
    """The letters that open the list are the first that narrow it."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "w", "sul", "enter")
        assert pilot.app.screen.rows["treatment"].text.startswith("sul")


async def test_a_choice_in_a_dialog_without_fields_is_narrowed_too(opened: Any, press: Any) -> None:
    """As the cause of a count; on a page letters stay keys."""
    async with opened(page="losses") as pilot:
        pilot.app.push_screen(CountDialog())
        await press(pilot)
        pilot.app.screen.query_one(Choice).focus()
        await press(pilot, "zz")
        assert "no line has “zz”" in str(pilot.app.screen.query_one("#typed").render())


async def test_a_list_of_vessels_is_narrowed_by_tag_kind_and_lot(opened: Any, press: Any) -> None:
    """By the name of the lot too, though its line shows the code; words in any order; the box keeps its size."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        pilot.app.screen.rows["from"].set_text("")
        pilot.app.screen.rows["from"].take_focus()
        await press(pilot, "ctrl+l")
        every, size = offered(pilot), pilot.app.screen.query_one(".box").size
        await press(pilot, "tank")
        assert (offered(pilot), under(pilot)) == (["T-01"], "T-01")
        assert pilot.app.screen.query_one(".box").size == size
        await press(pilot, *["backspace"] * 4, "keg m-26")
        assert offered(pilot) == ["K-01", "K-02"]
        await press(pilot, *["backspace"] * 8, "honey keg")
        assert offered(pilot) == ["K-01", "K-02"]
        await press(pilot, *["backspace"] * 9)
        assert offered(pilot) == every
        await press(pilot, "k-02", "enter")
        assert pilot.app.screen.rows["from"].text == "K-02"


async def test_what_stands_in_the_field_narrows_its_list(opened: Any, press: Any) -> None:
    """A word typed there first is not typed again; a tag is pointed at among all."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        row = pilot.app.screen.rows["from"]
        row.set_text("tank")
        row.take_focus()
        await press(pilot, "ctrl+l")
        assert offered(pilot) == ["T-01"]
        await press(pilot, "enter", "ctrl+l")
        assert under(pilot) == "T-01"
        assert len(offered(pilot)) > 10


@pytest.mark.parametrize("environ", [{}, {"NO_COLOR": "1"}])
async def test_in_two_colours_the_line_of_the_pointer_is_reversed_and_no_other(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, environ: dict[str, str]
) -> None:
    """By the theme, and where no colour is wanted: bold alone is what headings have too."""
    for name, value in environ.items():
        monkeypatch.setenv(name, value)
    async with opened(page="book", theme="plain" if not environ else "dark") as pilot:
        await press(pilot, "h", "down")
        listed = pilot.app.screen.query_one(OptionList)
        here = str(listed.get_option_at_index(listed.highlighted).prompt).split()[0]
        rows = [list(strip) for strip in pilot.app.screen._compositor.render_strips()]
    reversed_ = [row for row in rows if any(each.style and each.style.reverse and each.text.strip() for each in row)]
    words = ["".join(each.text for each in row if each.style and each.style.reverse) for row in reversed_]
    assert [each.split()[0] for each in words if each.split()[0] in REPORTS] == [here]
