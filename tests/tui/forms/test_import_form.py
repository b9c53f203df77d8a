"""Files are imported on screen: tried out first, written by a yes, all or nothing."""

from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.tui.forms.import_form import ImportForm
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.dialogs import Confirm, Pick


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to import from, beside which one stands: two barrels and a lot."""
    made = tmp_path / "brought" / "autumn"
    made.mkdir(parents=True)
    (made / "vessels.csv").write_text("tag,kind,capacity,wood\nB-101,barrel,225 L,acacia\nB-102,barrel,110 L,cherry\n")
    (made / "lots.csv").write_text("code,name\nQU-26,Quince 2026\n")
    monkeypatch.chdir(made.parent)
    return made


def texts(pilot: Any) -> Any:
    """What is typed in the form that is up."""
    return pilot.app.screen.texts


def said(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(StatusLine).render())


async def open_form(pilot: Any, press: Any) -> None:
    await press(pilot, "ctrl+p", "import a file")
    await pilot.pause(0.2)
    await press(pilot, "enter")
    assert isinstance(pilot.app.screen, ImportForm)


async def test_a_folder_is_tried_out_and_written_by_a_yes(opened: Any, press: Any, book: Book, folder: Path) -> None:
    """With no, nothing is written and the path stands; with yes, all of it is, and the racks have it."""
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        await press(pilot, "autumn", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        question = str(pilot.app.screen.query_one("#question").render())
        assert question.startswith("Would import 2 vessels, 1 lots.")
        await press(pilot, "-")
        assert texts(pilot)["path"] == "autumn"
        assert "B-101" not in book.cellar()
        await press(pilot, "enter", "+")
        assert said(pilot) == "Imported: 2 vessels, 1 lots."
        assert "B-101" in pilot.app.desk.cellar
    assert book.cellar().lots["QU-26"].name == "Quince 2026"


async def test_what_is_wrong_in_a_file_is_shown_with_its_place(
    opened: Any, press: Any, book: Book, folder: Path
) -> None:
    """As the command puts it; nothing is written, and the path stays to try again."""
    with (folder / "vessels.csv").open("a") as file:
        file.write("B-103,barrel,lots,oak\n")
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        await press(pilot, "autumn", "enter")
        assert "vessels.csv line 4, column capacity" in said(pilot)
        assert texts(pilot)["path"] == "autumn"
    assert "B-101" not in book.cellar()


async def test_a_path_that_is_not_there_stays_in_its_field(opened: Any, press: Any, folder: Path) -> None:
    """The whole path is named."""
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        await press(pilot, "spring", "enter")
        complaint = pilot.app.screen.rows["path"].complaint
        assert complaint == f"there is no {folder.parent / 'spring'}"


async def test_files_are_chosen_from_lists(opened: Any, press: Any, folder: Path) -> None:
    """A folder that is chosen is listed next, until a file, or the folder itself, is chosen."""
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        await press(pilot, "ctrl+l", "autumn", "enter")
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, "vessels", "enter")
        assert texts(pilot)["path"] == str(folder / "vessels.csv")
        await press(pilot, "ctrl+l", "./", "enter")
        assert texts(pilot)["path"] == str(folder)


async def test_the_root_of_all_folders_can_be_listed(opened: Any, press: Any) -> None:
    """It has none above it."""
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        await press(pilot, Path.cwd().anchor, "ctrl+l")
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, "enter")
        assert texts(pilot)["path"] == Path.cwd().anchor


async def test_an_import_that_is_left_writes_nothing(
    opened: Any, press: Any, book: Book, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Escape while it is written takes all of it back."""
    rows = "".join(f"B-{number},barrel,225 L,acacia\n" for number in range(200, 260))
    (folder / "vessels.csv").write_text(f"tag,kind,capacity,wood\n{rows}")
    async with opened(page="racks") as pilot:
        await open_form(pilot, press)
        form = pilot.app.screen
        monkeypatch.setattr("cooperage.tui.forms.import_form._SHOWN_EVERY", 10)

        def leave(done: int, _of: int, *, dry_run: bool) -> None:
            if done == 20 and not dry_run:
                form.dismiss(None)

        monkeypatch.setattr(form, "_show_progress", leave)
        await press(pilot, "autumn", "enter")
        await press(pilot, "+")
        assert pilot.app.screen.NAME == "racks"
    assert "B-200" not in book.cellar()
    assert "B-259" not in book.cellar()
