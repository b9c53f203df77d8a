"""A physical count, typed or pasted: compared with the book while it is typed, and written as gauges."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.widgets import Label

from cooperage.book import Written
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE, Outside
from cooperage.errors import CooperageError
from cooperage.programme.losses.allowance import allowed_share
from cooperage.programme.pasted.count import Count, Difference, compare, gauges, write_count
from cooperage.programme.pasted.tally import Tally, read_tally
from cooperage.tui.forms.paste_dialog import PasteDialog, unread_line
from cooperage.tui.shared.choices import Choice
from cooperage.tui.shared.dialogs import Confirm
from cooperage.units import Quantity, Units, counted, show

_ROW = "{:<8} {:>11} {:>11} {:>11}  {}"
_HEAD = _ROW.format("vessel", "book", "counted", "missing", "").rstrip()


class CountDialog(PasteDialog):
    """Asks for counted volumes, compares them with the book, and writes the gauges after a question."""

    TITLE_WORDS: ClassVar[str] = "Physical count"

    def how(self) -> str:
        """Return what may be pasted, with an example in the person's unit."""
        example = f"B-017 {show(Quantity.VOLUME, 224_100, self.desk.units)}"
        return f"Paste or type a vessel on each line, such as {example}. A table or the path of a file will do too."

    def compose_more(self) -> ComposeResult:
        """Ask for the cause of the difference."""
        yield Label("cause ")
        yield Choice(
            "Put the difference down to", [(name, OUTSIDE[Outside(name)].label) for name in _CAUSES], id="cause"
        )

    @property
    def _cause(self) -> str:
        return self.query_one("#cause", Choice).value

    def look(self) -> tuple[str, list[str]]:
        """Show each vessel's difference; lines not understood come first, vessels not counted last."""
        if not self.text.strip():
            return "No vessel is counted yet.", []
        found = self._compared()
        if found is None:
            return "Calculating the cellar as it stood then …", []
        tally, count = found
        units = self.desk.units
        lines = [unread_line(each) for each in tally.unread]
        lines += [difference_line(each, units) for each in count.rows]
        lines += [f"{tag:<8} NOT COUNTED" for tag in count.not_counted]
        return "\n".join((*total_lines(count, units), _HEAD)), lines

    def _compared(self) -> tuple[Tally, Count] | None:
        cellar = self.cellar
        if cellar is None:
            return None
        tally = read_tally(self.text, cellar, self.desk.units)
        return tally, compare(cellar, tally.counted, allowed_share(self.desk.book, self.when))

    def action_write(self) -> None:
        """Ask, and then write the gauges."""
        try:
            found = self._compared()
            if found is None:
                return
            found[0].whole()
            wanted = gauges(found[1], self._cause, self.hand, at=self.when)
        except CooperageError as error:
            self.refused(error)
            return
        count = found[1]

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(
                    lambda sure: write_count(self.desk.book, count, wanted, sure=sure), self._written, self.refused
                )

        if wanted:
            missing = show(Quantity.VOLUME, count.missing_ml, self.desk.units)
            question = f"Write {counted(len(wanted), 'gauge')}, so that the book agrees with the count?"
            self.app.push_screen(
                Confirm(f"{question}\n\n{missing} missing in all, put down to: {self._cause}."), answered
            )
        else:
            answered(True)

    def _written(self, written: list[Written]) -> None:
        self.dismiss(f"Written: {counted(len(written), 'gauge')}" if written else "The book agrees with the count.")


_CAUSES = (Outside.GAUGING.value, *(name for name in GAP_CAUSES if name != Outside.GAUGING))


def difference_line(row: Difference, units: Units) -> str:
    """Return a vessel's volume in the book, counted, and the difference."""
    figures = (show(Quantity.VOLUME, ml, units) for ml in (row.book_ml, row.counted_ml, row.missing_ml))
    return _ROW.format(row.vessel, *figures, "CHECK" if row.is_odd else "").rstrip()


def total_lines(count: Count, units: Units) -> tuple[str, str]:
    """Return what is missing in all, and whether that is within the allowance."""
    missing = show(Quantity.VOLUME, count.missing_ml, units)
    return f"{missing} missing in {counted(len(count.rows), 'vessel')}", count.allowance.words(count.missing_ml, units)
