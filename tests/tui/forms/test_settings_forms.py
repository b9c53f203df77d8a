"""Settings are shown and changed on screen: a person's own in their file, the cellar's in the book; at once."""

from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.programme.upkeep.cellar_facts import cellar_facts
from cooperage.tui.forms.settings_forms import FactsForm, SettingsForm
from cooperage.tui.shared.bars import StatusLine, TopBar, active_keys


@pytest.fixture
def on_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A settings file of one's own."""
    path = tmp_path / "settings.toml"
    path.write_text('# ours\nhand = "Ada"  # signs\n', encoding="utf-8")
    monkeypatch.setenv("COOPERAGE_CONFIG", str(path))
    return path


def announced(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#announced").render())


async def found_by_name(pilot: Any, press: Any, words: str) -> None:
    """Open a form from the palette."""
    await press(pilot, "ctrl+p", words)
    await pilot.pause(0.2)
    await press(pilot, "enter")


async def test_units_name_and_colours_hold_at_once_and_are_kept(opened: Any, press: Any, on_file: Path) -> None:
    """Every screen is in the new units, also those that were up before; the file keeps its comments."""
    async with opened(page="racks") as pilot:
        await press(pilot, "f5", "f4")
        await found_by_name(pilot, press, "settings: your")
        form = pilot.app.screen
        assert isinstance(form, SettingsForm)
        assert announced(pilot).startswith("Nothing is changed yet.")
        for name, text in (("hand", "Tove"), ("volume", "gal"), ("theme", "light")):
            form.rows[name].set_text(text)
        await press(pilot)
        assert announced(pilot).startswith(f"Enter writes {on_file}")
        await press(pilot, "enter")
        screen = pilot.app.screen
        assert "gal" in str(screen.query_one("#under-cursor").render())
        assert "Tove" in str(screen.query_one(TopBar).render())
        assert (pilot.app.desk.hand, pilot.app.theme) == ("Tove", "light")
        await press(pilot, "f5")
        assert "gal" in str(pilot.app.screen.query_one("#head").render())
    assert on_file.read_text(encoding="utf-8") == '# ours\nhand = "Tove"  # signs\nvolume = "gal"\ntheme = "light"\n'


async def test_a_choice_is_written_by_the_key_that_writes_a_page(opened: Any, press: Any, on_file: Path) -> None:
    """Enter opens the list there; the bar and the announcement name the other key."""
    async with opened(page="racks") as pilot:
        await found_by_name(pilot, press, "settings: your")
        await press(pilot, "tab", "tab", "enter", "Brix", "enter")
        assert announced(pilot).startswith("Ctrl+S writes")
        assert ("ctrl+s", "write") in [
            (each.binding.key, each.binding.description) for each in active_keys(pilot.app.screen)
        ]
        await press(pilot, "ctrl+s")
        assert pilot.app.desk.settings.units.gravity == "brix"
    assert 'gravity = "brix"' in on_file.read_text(encoding="utf-8")


async def test_what_cannot_be_written_stays_typed(
    opened: Any, press: Any, on_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder in the file's place is refused in a line, and nothing takes effect."""
    monkeypatch.setenv("COOPERAGE_CONFIG", str(on_file.parent))
    async with opened(page="racks") as pilot:
        await found_by_name(pilot, press, "settings: your")
        await press(pilot, "Tove", "enter")
        assert isinstance(pilot.app.screen, SettingsForm)
        assert "cannot be written" in str(pilot.app.screen.query_one(StatusLine).render())
        assert pilot.app.desk.hand == "Ada"


async def test_facts_of_the_cellar_are_changed_and_reset(opened: Any, press: Any, book: Book) -> None:
    """Only what is changed is written; a blank lets the default stand again; what cannot be goes to its field."""
    async with opened(page="racks") as pilot:
        await found_by_name(pilot, press, "settings of the cellar")
        form = pilot.app.screen
        assert isinstance(form, FactsForm)
        form.rows["risk"].set_text("5")
        form.rows["humidity"].set_text("500")
        await press(pilot, "enter")
        assert form.rows["humidity"].is_focused
        form.rows["humidity"].set_text("")
        await press(pilot)
        assert "Enter changes risk." in announced(pilot)
        await press(pilot, "enter")
        assert str(pilot.app.screen.query_one(StatusLine).render()) == "Changed: risk."
        assert (cellar_facts(book).risk, cellar_facts(book).given) == (0.05, frozenset({"risk"}))
        await found_by_name(pilot, press, "settings of the cellar")
        pilot.app.screen.rows["risk"].set_text("")
        await press(pilot, "enter")
    assert not cellar_facts(book).given
