"""A report or a label as a file holds it, and how it is saved: one way for the command and the screen."""

from collections.abc import Callable, Mapping
from pathlib import Path

from cooperage.book import Book
from cooperage.book.facts import facts_of
from cooperage.errors import BadInput, choose_from
from cooperage.exchange.reports.labels import card_lines, qr_svg, qr_text
from cooperage.exchange.reports.periods import figures_csv, report_of_period
from cooperage.exchange.reports.reports import REPORTS, as_csv, as_html
from cooperage.exchange.reports.shape import Report
from cooperage.exchange.reports.texts import as_text
from cooperage.outfile import check_folder, new_file
from cooperage.programme.periods.shown import ShownPeriod
from cooperage.units import DEFAULT, Span, Units, show_zone

Contents = Mapping[str, Callable[[], bytes]]
"""What a paper can be saved as: by the ending of the file, what makes its bytes."""


class NotSavedAs(BadInput):
    """An ending that a paper cannot be saved with."""

    def __init__(self, path: Path, endings: tuple[str, ...]) -> None:
        self.path = path
        super().__init__(f"{path.name} is not saved as '{path.suffix}'{choose_from(path.suffix, endings)}")


def report_text(book: Book, report: Report, units: Units, width: int | None = None) -> str:
    """Return a report as it is printed, with the cellar's name and the time zone in its head; in a width, if given."""
    return as_text(report, units, _name_of(book), show_zone(book.now()), width)


def report_page(book: Book, report: Report, units: Units) -> str:
    """Return a report as a page for a browser, with the cellar's name and the time zone in its head."""
    return as_html(report, units, _name_of(book), show_zone(book.now()))


def _name_of(book: Book) -> str:
    with book.reading() as connection:
        return facts_of(connection).name


def report_contents(book: Book, name: str, span: Span, text: str, units: Units = DEFAULT) -> Contents:
    """Return what a report can be saved as: the text as it is shown, a page, or CSV in litres, % vol and g/L."""
    return {
        ".txt": text.encode,
        ".html": lambda: report_page(book, REPORTS[name](book, span, units), units).encode(),
        ".csv": lambda: as_csv(REPORTS[name](book, span, DEFAULT)).encode(),
    }


def period_contents(book: Book, shown: ShownPeriod, text: str, units: Units) -> Contents:
    """Return what a period can be saved as: a page, the text as it is shown, or every figure as CSV."""
    return {
        ".html": lambda: report_page(book, report_of_period(shown, units), units).encode(),
        ".txt": text.encode,
        ".csv": lambda: figures_csv(shown.figures).encode(),
    }


def label_text(book: Book, code: str, units: Units) -> tuple[str, str]:
    """Return the code as the book has it, and its card with the QR code below; raises NothingToTrace."""
    lines = card_lines(book, code, units)
    return lines[0], "\n".join([*lines, qr_text(lines[0])])


def label_contents(code: str, text: str) -> Contents:
    """Return what a label can be saved as: its QR code as a picture, or the whole card as text."""
    return {".svg": lambda: qr_svg(code), ".txt": f"{text}\n".encode}


def save_contents(path: Path, contents: Contents, *, force: bool = False) -> None:
    """Save by the ending of the path; raises NotSavedAs, NoFolder and what `new_file` does."""
    make = contents.get(path.suffix.lower())
    if make is None:
        raise NotSavedAs(path, tuple(contents))
    check_folder(path)
    with new_file(path, force=force) as half_done:
        half_done.write_bytes(make())
