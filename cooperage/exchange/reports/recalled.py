"""The recall list on paper: what to stop, where it is, how much of it is meant, and whom to call."""

from collections.abc import Iterator

from cooperage.book import Book
from cooperage.book import bottles as stock
from cooperage.book.declared.places import BottlePlace
from cooperage.exchange.reports.printed import Contents, report_page, report_text
from cooperage.exchange.reports.reports import as_csv
from cooperage.exchange.reports.shape import Cell, Report, ReportColumn
from cooperage.programme.recall.asked import FORWARD, RecallQuestion, recall
from cooperage.programme.recall.found import BottleHolder, RecallRow
from cooperage.programme.recall.words import place_words
from cooperage.units import Quantity, Units, counted, show_when

_STOP = "stop: nothing in or out"
_DO = {
    BottlePlace.TASTED.value: "tasted: nothing to do",
    BottlePlace.BROKEN.value: "broken: nothing to do",
    BottlePlace.COUNT.value: "search for them",
}
_BLANK = "_" * 24


def recall_report(book: Book, question: RecallQuestion, by: str) -> Report:
    """Return what is to be stopped and called back, forward from what is asked, prepared by a hand now.

    Bottles have a row for every store and everybody who has some, with the papers that went with them.
    """
    found = recall(book, RecallQuestion(question.code, question.hand, question.span, FORWARD))
    columns = (
        ReportColumn("do", "do"),
        ReportColumn("what", "what"),
        ReportColumn("where", "where"),
        ReportColumn("bottles", "bottles"),
        ReportColumn("volume", "of it", Quantity.VOLUME),
        ReportColumn("part_percent", "share there", Quantity.PERCENT),
        ReportColumn("reached", "reached"),
        ReportColumn("hands", "hands"),
        ReportColumn("call", "call, when, answer"),
    )
    held = found.of("bottling", "vessel")
    rows = [cells for row in held for cells in (_of_bottling(row) if row.entry else [_of_vessel(row)])]
    bottles = sum(row.bottles or 0 for row in held)
    vessels = counted(len(found.of("vessel")), "vessel")
    foot = (
        f"{counted(bottles, 'bottle')} of {counted(len(found.of('bottling')), 'bottling')}, {vessels}\n"
        f"Hands: {', '.join(found.hands) or 'not known'}\n"
        f"Prepared by {by or '________________'}, {show_when(book.now())}. Who is to be informed, and how soon: check "
        "with your authority."
    )
    return Report(f"Recall from {found.title}", columns, rows, foot, "Nothing of it is in a vessel or a bottle.")


def list_text(book: Book, question: RecallQuestion, by: str, units: Units, width: int) -> tuple[str, str]:
    """Return the title of the list, and the list as it is printed in a width [columns]."""
    report = recall_report(book, question, by)
    return report.title, report_text(book, report, units, width)


def list_contents(book: Book, question: RecallQuestion, by: str, units: Units, text: str) -> Contents:
    """Return what the list can be saved as: the text as it is shown, CSV in litres, a page for a browser."""
    return {
        ".txt": text.encode,
        ".csv": lambda: as_csv(recall_report(book, question, by)).encode(),
        ".html": lambda: report_page(book, recall_report(book, question, by), units).encode(),
    }


def _of_vessel(row: RecallRow) -> tuple[Cell, ...]:
    return _STOP, place_words(row), "", None, round(row.ml), _percent(row), row.first, ", ".join(row.hands), _BLANK


def _of_bottling(row: RecallRow) -> Iterator[tuple[Cell, ...]]:
    for each in row.holders:
        there = (place_words(row), stock.place_words(each.place), each.bottles, round(each.ml), 100 * each.share)
        yield _to_do(each), *there, row.first, ", ".join(row.hands), _whom(each)


def _percent(row: RecallRow) -> float | None:
    return None if row.share_there is None else 100 * row.share_there


def _to_do(each: BottleHolder) -> str:
    if each.bottles < 0:
        return "came back: ask from whom"
    return "call back" if each.is_away else _DO.get(each.place, "stop: sell none")


def _whom(each: BottleHolder) -> str:
    """Return the name to call, with the papers; where no name is known, a line to write it on."""
    papers = f" ({', '.join(each.documents)})" if each.documents else ""
    return f"{each.to or _BLANK}{papers}" if each.to or each.is_away else _BLANK
