"""The recall list on paper: what to stop, where it is, how much of it is meant, and whom to call."""

from cooperage.book import Book
from cooperage.exchange.reports.reports import Cell, Report, ReportColumn
from cooperage.programme.recall.asked import FORWARD, RecallQuestion, recall
from cooperage.programme.recall.found import RecallRow
from cooperage.programme.recall.words import place_words
from cooperage.units import Quantity, counted, show_when

_DO = {"bottling": "call back", "vessel": "stop: nothing in or out"}
_BLANK = "_" * 24


def recall_report(book: Book, question: RecallQuestion, by: str) -> Report:
    """Return what is to be stopped and called back, forward from what is asked, prepared by a hand now."""
    found = recall(book, RecallQuestion(question.code, question.hand, question.span, FORWARD))
    columns = (
        ReportColumn("do", "do"),
        ReportColumn("what", "what"),
        ReportColumn("bottles", "bottles"),
        ReportColumn("volume", "of it", Quantity.VOLUME),
        ReportColumn("part_percent", "part of what is there", Quantity.PERCENT),
        ReportColumn("reached", "reached"),
        ReportColumn("hands", "hands"),
        ReportColumn("call", "call, when, answer"),
    )
    held = found.of("bottling", "vessel")
    rows = [_row(row) for row in held]
    bottles = sum(row.bottles or 0 for row in held)
    vessels = counted(len(found.of("vessel")), "vessel")
    foot = (
        f"{counted(bottles, 'bottle')} of {counted(len(found.of('bottling')), 'bottling')}, {vessels}\n"
        f"Hands: {', '.join(found.hands) or 'not known'}\n"
        f"Prepared by {by or '________________'}, {show_when(book.now())}. Who is to be informed, and how soon: check "
        "with your authority."
    )
    return Report(f"Recall from {found.title}", columns, rows, foot, "Nothing of it is in a vessel or a bottle.")


def _row(row: RecallRow) -> tuple[Cell, ...]:
    part = None if row.share_there is None else 100 * row.share_there
    return _DO[row.kind], place_words(row), row.bottles, round(row.ml), part, row.first, ", ".join(row.hands), _BLANK
