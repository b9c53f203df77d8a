"""The printed recall list on screen: read in a view that scrolls, saved as text, CSV or a page for a browser."""

import re

from cooperage.exchange.reports.recalled import list_contents, list_text
from cooperage.programme.recall.asked import RecallQuestion
from cooperage.tui.forms.papers import Paper
from cooperage.tui.shared.cellar_screen import CellarScreen

_EDGES = 8
"""Columns of the frame of a paper."""


def show_list(screen: CellarScreen, question: RecallQuestion) -> None:
    """Show the recall list of a question, which goes forward."""
    book, units, hand = screen.desk.book, screen.units, screen.desk.hand
    width = screen.app.size.width - _EDGES

    def show(done: tuple[str, str]) -> None:
        title, text = done
        name = re.sub(r"[^A-Za-z0-9._-]+", "-", question.code or question.hand or "days")
        contents = list_contents(book, question, hand, units, text)
        screen.app.push_screen(Paper(title, text, f"recall-{name}.txt", contents))

    screen.run_slow_work("list", lambda: list_text(book, question, hand, units, width), show)
