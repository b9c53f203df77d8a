"""The open orders as lines for paper: a box for each, what is expected, room for what came, and what to mind."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap

from cooperage.book import Book, Cellar
from cooperage.book.dangers.dangers import by_danger, cautions
from cooperage.book.dangers.work import work_of, work_of_draft
from cooperage.book.declared.acts import KINDS, figure_of
from cooperage.outfile import new_file
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.shown import order_words
from cooperage.programme.several.moved import expected_words
from cooperage.units import DEFAULT, Units, show_when

_WIDTH = 96
_BOX, _INDENT = "[ ]", " " * 9


def paper_list(book: Book, found: Sequence[Checked], units: Units = DEFAULT) -> list[str]:
    """Return the lines of checked orders, by day; each fits a sheet of A4 in a plain letter."""
    cellar = book.cellar()
    lines, day = [f"Orders, checked {show_when(cellar.at)}", ""], None
    for each in found:
        if each.order.day != day:
            day = each.order.day
            lines += [day.isoformat(), ""]
        lines += _order(each, cellar, units)
    return lines if found else [*lines, "no order is open"]


def save_paper_list(path: Path, lines: Sequence[str], *, force: bool = False) -> None:
    """Write such lines to a file. Raises ThereAlready (without `force`), NotReplaced, NotWritten."""
    with new_file(path, force=force) as beside:
        beside.write_text("\n".join([*lines, ""]), encoding="utf-8")


def _order(checked: Checked, cellar: Cellar, units: Units) -> list[str]:
    order = checked.order
    by = f"  ({order.hand})" if order.hand else ""
    figures, came = _figures(checked, units), _came(order.kind)
    first = f"{order_words(order, units, note=True)}{by}"
    if len(figures) <= 1:
        expected = "".join(f"   {figure}" for _, figure in figures if figure and figure not in first)
        first = f"{first}{expected}{came}"
    lines = _wrapped(first, f"{_BOX} {order.number:>4} ")
    if len(figures) > 1:
        lines += [f"{_INDENT}{_BOX} {tag:<8}{figure:>12}{came}".rstrip() for tag, figure in figures]
    if checked.verdict is not Verdict.POSSIBLE:
        lines += _wrapped(f"{_heading(checked)}{checked.why}", _INDENT)
    return [*lines, *_minded(checked, cellar, units), ""]


def _heading(checked: Checked) -> str:
    return {Verdict.IMPOSSIBLE: "NOT POSSIBLE: ", Verdict.ASKED: "Ask first: "}.get(checked.verdict, "")


def _figures(checked: Checked, units: Units) -> list[tuple[str, str]]:
    """Return what is expected of each vessel, by its tag; empty text where nothing moves, or it is not known yet."""
    if not checked.written:
        return [(tag, "") for tag in checked.order.tags]
    return [(tag, expected_words(written, units)) for tag, written in checked.written.items()]


def _came(kind: str) -> str:
    """Return the room for what came, where there is a figure to write."""
    figure = figure_of(KINDS[kind])
    return "" if figure is None or figure.choices else "   came: ____________"


def _minded(checked: Checked, cellar: Cellar, units: Units) -> list[str]:
    """Return what to mind, each danger once; of what cannot be worked out yet, by the texts."""
    works = [work_of(act, cellar, units) for act in checked.acts]
    works = works or [work_of_draft(checked.order.kind, checked.order.texts, cellar)]
    found = by_danger(each for work in works for each in cautions(work))
    return [line for each in found for line in _wrapped(f"Mind: {each.text}", _INDENT)]


def _wrapped(text: str, begins: str) -> list[str]:
    return wrap(text, _WIDTH, initial_indent=begins, subsequent_indent=" " * len(begins), break_on_hyphens=False)
