"""What a flight gives on paper and takes from files: a sheet for each taster, the results, a table of scores."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.style import Style
from rich.text import Text

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.exchange.score_sheets import sheet_table, take_scores
from cooperage.exchange.tastings.answer_sheets import answer_table, take_answers
from cooperage.infile import at_home
from cooperage.tasting.closed import ClosedFlight
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.sheet import answer_sheet
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
from cooperage.tui.tasting.words import about_flight, about_test
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


def show_test_paper(screen: CellarScreen, poured: DifferenceFlight, lines: Sequence[str] | None) -> None:
    """Show a sheet for each taster of a blind difference test, or the lines that a revealed one showed, to be saved."""
    if not poured.is_blind:
        text = "\n".join([*about_test(poured, screen.desk.book.now(), screen.desk.units), "", *(lines or ())])
        title, name = f"Results of {poured.code}", f"{poured.code}-results.txt"
        screen.app.push_screen(Paper(title, text, name, {".txt": f"{text}\n".encode}))
        return
    text = _NEXT_PAGE.join("\n".join(answer_sheet(poured, name)) for name in poured.panel)
    contents = {".txt": f"{text}\n".encode, ".csv": lambda: answer_table(poured, poured.panel).encode()}
    title = f"Answer sheets of {poured.code}: {', '.join(poured.panel)}"
    screen.app.push_screen(Paper(title, text.replace("\f", "─" * 78), f"{poured.code}-sheets.txt", contents))


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

    def __init__(self, code: str, *, is_test: bool = False) -> None:
        self._given = "Answers" if is_test else "Scores"
        super().__init__(f"{self._given} of {code} from a file")
        self._code, self._is_test = code, is_test

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the path."""
        return [(AskedField("path", "file", Holds.TEXT, needed=True, example=f"{self._code}-sheets.csv"), "")]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what Enter reads; scores of glasses that the file names replace what was given."""
        given = f"the {self._given.lower()} of {_path(texts).absolute()}"
        return f"{self.writer} takes {given}: all of them, or none if one is refused."

    def write(self, texts: Mapping[str, str]) -> None:
        """Take them."""
        book, code, path = self.desk.book, self._code, _path(texts)

        def take(sure: bool) -> Mapping[str, int]:
            return (take_answers if self._is_test else take_scores)(book, code, path, sure=sure)

        self.desk.attempt(take, self._taken, self.refused)

    def _taken(self, counts: Mapping[str, int]) -> None:
        of = ("set", "sets") if self._is_test else ("glass", "glasses")
        given = ", ".join(f"{taster} {counted(count, *of)}" for taster, count in counts.items())
        self.close(f"{self._given} taken: {given}." if given else f"The file has no {self._given.lower()}.")


def _path(texts: Mapping[str, str]) -> Path:
    if not texts["path"]:
        raise BadField("path", "name the file")
    return at_home(Path(texts["path"]))
