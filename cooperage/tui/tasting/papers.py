"""What a flight gives on paper and takes from files: a sheet for each taster, the results, a table of scores."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.style import Style
from rich.text import Text

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.exchange.score_sheets import sheet_table, take_scores
from cooperage.infile import at_home
from cooperage.tasting.closed import ClosedFlight
from cooperage.tasting.flights import Flight
from cooperage.tasting.flights.orders import orders_for
from cooperage.tasting.flights.sheet import sheet_lines
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.forms.papers import Paper
from cooperage.tui.keys import pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.fields import AskedField
from cooperage.tui.tasting.results import PointedRow
from cooperage.tui.tasting.sides import side_lines, sides_of
from cooperage.tui.tasting.words import about_flight
from cooperage.units import counted

_PAGE = 100
"""Columns of results on paper."""
_NEXT_PAGE = "\n\f\n"


def show_sheets(screen: CellarScreen, poured: Flight) -> None:
    """Show a sheet for each taster, to be saved as text or as a table that is read back."""
    if not poured.panel:
        screen.show_message(f"No taster is named yet: {pressed('enter')} scores it and asks for a name.")
        return
    try:
        drawn, names = orders_for(screen.desk.book, poured.code)
    except CooperageError as error:
        screen.refuse(error)
        return
    text = _NEXT_PAGE.join("\n".join(sheet_lines(drawn, name)) for name in names)
    contents = {".txt": f"{text}\n".encode, ".csv": lambda: sheet_table(drawn, names).encode()}
    title = f"Score sheets of {drawn.code}: {', '.join(names)}"
    screen.app.push_screen(Paper(title, text.replace("\f", "─" * 78), f"{drawn.code}-sheets.txt", contents))


def show_results_paper(screen: CellarScreen, closed: ClosedFlight) -> None:
    """Show every side of the results, to be saved as text."""
    lines = about_flight(closed.flight, screen.desk.book.now())
    for nth in range(len(sides_of(closed))):
        rows = side_lines(closed, nth, {}, screen.units, _PAGE, lambda _role: Style())
        lines += ["", *(_plain(row) for row in rows)]
    text = "\n".join(lines)
    title, name = f"Results of {closed.flight.code}", f"{closed.flight.code}-results.txt"
    screen.app.push_screen(Paper(title, text, name, {".txt": f"{text}\n".encode}))


def _plain(row: str | Text | PointedRow) -> str:
    text = row.text if isinstance(row, PointedRow) else row
    return (text if isinstance(text, str) else text.plain).rstrip()


class ScoreFile(AskedForm[str]):
    """Asks for a table of scores that tasters filled in; closes with what was taken of it."""

    def __init__(self, code: str) -> None:
        super().__init__(f"Scores of {code} from a file")
        self._code = code

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the path."""
        return [(AskedField("path", "file", Holds.TEXT, needed=True, example=f"{self._code}-sheets.csv"), "")]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what Enter reads; scores of glasses that the file names replace what was given."""
        return f"{self.writer} takes the scores of {_path(texts).absolute()}: all of them, or none if one is refused."

    def write(self, texts: Mapping[str, str]) -> None:
        """Take them."""
        book, code, path = self.desk.book, self._code, _path(texts)
        self.desk.attempt(lambda sure: take_scores(book, code, path, sure=sure), self._taken, self.refused)

    def _taken(self, counts: Mapping[str, int]) -> None:
        given = ", ".join(f"{taster} {counted(count, 'glass', 'glasses')}" for taster, count in counts.items())
        self.close(f"Scores taken: {given}." if given else "The file has no scores.")


def _path(texts: Mapping[str, str]) -> Path:
    if not texts["path"]:
        raise BadField("path", "name the file")
    return at_home(Path(texts["path"]))
