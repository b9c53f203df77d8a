"""The form that imports: a file or a folder is named, tried out without writing, and written by a yes."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

from textual import work
from textual.worker import get_current_worker

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.exchange import Imported, import_folder
from cooperage.infile import at_home
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.shared.fields import AskedField

_SHOWN_EVERY = 100  # rows
_ENDINGS = (".csv", ".xlsx")
_MOST_LISTED = 500


class _Stopped(Exception):
    """The person left: the transaction is not written."""


class ImportForm(AskedForm[Imported]):
    """Asks for a folder of CSV files, one CSV file or a workbook; closes with what was imported.

    Enter tries it out and writes nothing; what that shows is written, all or nothing, by a yes.
    """

    def __init__(self) -> None:
        super().__init__("Import vessels, lots, entries, flights, facts")
        self._is_working = False

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the path."""
        example = "a folder, a .csv or an .xlsx file"
        return [(AskedField("path", "file or folder", Holds.TEXT, needed=True, example=example), "")]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return that nothing is written yet."""
        return (
            f"{self.writer} tries out {_path(texts).absolute()}. Nothing is written before you have seen the outcome."
        )

    def write(self, texts: Mapping[str, str]) -> None:
        """Try it out."""
        if not self._is_working:
            self._begin(_path(texts), dry_run=True)

    def _begin(self, path: Path, *, dry_run: bool) -> None:
        self._is_working = True
        self._show_progress(0, 0, dry_run=dry_run)
        self._import(path, dry_run)

    @work(thread=True)
    def _import(self, path: Path, dry_run: bool) -> None:
        worker, app = get_current_worker(), self.app

        def progress(done: int, of: int) -> None:
            if worker.is_cancelled:
                raise _Stopped
            if done % _SHOWN_EVERY == 0:
                app.call_from_thread(self._show_progress, done, of, dry_run=dry_run)

        try:
            done = import_folder(self.desk.book, path, dry_run=dry_run, progress=progress)
        except _Stopped:
            return
        except CooperageError as error:
            self._then(partial(self.refused, error))
        else:
            self._then(partial(self._tried, path, done) if dry_run else partial(self._written, done))

    def _then(self, show: Callable[[], None]) -> None:
        def shown() -> None:
            self._is_working = False
            if self.is_attached:  # else the form was left meanwhile
                self.announce()
                show()

        self.app.call_from_thread(shown)

    def _show_progress(self, done: int, of: int, *, dry_run: bool) -> None:
        if self.is_attached:
            doing = "Trying it out; nothing is written" if dry_run else "Writing"
            rows = f": {done} of {of} rows" if of else ""
            self.query_one(StatusLine).show_message(f"{doing}{rows}. Esc stops it.")

    def _tried(self, path: Path, done: Imported) -> None:
        """Show what would be imported, and write it if that is right."""
        self.query_one(StatusLine).show_message("")

        def answered(yes: bool | None) -> None:
            if yes:
                self._begin(path, dry_run=False)

        question = "\n".join([f"Would import {done.words}.", *(f"{note}." for note in done.notes), "", "Write it?"])
        self.app.push_screen(Confirm(question, "write it"), answered)

    def _written(self, done: Imported) -> None:
        self.desk.read_again()
        self.close(done)

    # --- choosing ---------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Files can be listed."""
        return action == "list" or super().check_action(action, parameters)

    def action_list(self) -> None:
        """List the folder that is typed, or the one that holds what is typed; a folder chosen is listed next."""
        row = self.rows["path"]
        typed = at_home(Path(row.text or ".")).absolute()
        folder = typed if typed.is_dir() else typed.parent

        def picked(chosen: str | None) -> None:
            if chosen is None:
                return
            row.set_text(chosen)
            if Path(chosen).is_dir() and chosen != str(folder):
                self.action_list()

        self.app.push_screen(Pick(str(folder), _listed(folder), str(typed)), picked)


def _path(texts: Mapping[str, str]) -> Path:
    if not texts["path"]:
        raise BadField("path", "name a folder of CSV files, a CSV file or a workbook")
    path = at_home(Path(texts["path"]))
    if not path.exists():
        raise BadField("path", f"there is no {path.absolute()}")
    return path


def _listed(folder: Path) -> list[tuple[str, str]]:
    """List a folder as (path, words): itself, the one above, folders, files that can be imported."""
    try:
        there = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError:
        there = []
    folders = [(str(path), f"{path.name}/") for path in there if path.is_dir()]
    files = [(str(path), path.name) for path in there if path.suffix.lower() in _ENDINGS and path.is_file()]
    both = [*folders, *files][:_MOST_LISTED]
    here = [(str(folder), "./  this folder, with its files")]
    above = [(str(folder.parent), "../  the folder above")] if folder.parent != folder else []
    return [*here, *above, *both]
