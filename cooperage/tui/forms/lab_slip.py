"""Lab results pasted from a mail or sheet, matched to vessels while they are typed, and written together."""

from typing import ClassVar

from cooperage.book import Figure
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.pasted.lab_slip import EXAMPLE, Matched, Slip, read_slip, write_slip
from cooperage.tui.forms.paste_dialog import PasteDialog, unread_line
from cooperage.units import Units, counted, show


class SlipDialog(PasteDialog):
    """Asks for lab results and writes all of their readings, or none."""

    TITLE_WORDS: ClassVar[str] = "Lab results"
    HOW: ClassVar[str] = (
        f"Paste or type a line for each vessel, such as {EXAMPLE}. A table with a header or the path of a file will do "
        "too."
    )

    def _slip(self) -> Slip:
        return read_slip(self.text, self.desk.cellar, self.when, self.hand, self.desk.units)

    def look(self) -> tuple[str, list[str]]:
        """Show each reading beside what the book has; lines not understood come first."""
        slip = self._slip()
        if not self.text.strip():
            return "No line is pasted yet.", []
        not_understood = f"; {counted(len(slip.unread), 'line')} not understood" if slip.unread else ""
        lines = [unread_line(each) for each in slip.unread]
        return f"{slip.words}{not_understood}", lines + [matched_line(each, self.desk.units) for each in slip.matched]

    def action_write(self) -> None:
        """Write all readings, or none; unusual values are confirmed first."""

        def work(sure: bool) -> Slip:
            slip = self._slip()
            write_slip(self.desk.book, slip, sure=sure)
            return slip

        self.desk.attempt(work, self._written, self.refused)

    def _written(self, slip: Slip) -> None:
        self.dismiss(f"Written: {slip.words}")


def matched_line(matched: Matched, units: Units) -> str:
    """Return a reading, what the book has, and what is doubtful about it."""
    reading, last = matched.reading, matched.last
    read = PROPERTIES[reading.property]
    value, there = show(read.quantity, reading.value, units), _before(last, units)
    doubt = f"{matched.doubt.upper()}, " if matched.doubt else ""
    return f"{reading.vessel:<7} {read.label:<18} {value:>11}  {doubt}{there}"


def _before(last: Figure, units: Units) -> str:
    """Return what the figure was: as measured, and what it has come to by now; as calculated where it was not."""
    quantity = PROPERTIES[last.name].quantity
    if last.value is None:
        return "was not known"
    if last.measured is None:
        return f"was {show(quantity, last.value, units)} ({last.source if last.how == 'read' else last.how})"
    now = "" if last.how == "read" else f", {show(quantity, last.value, units, with_unit=False)} now"
    return f"was {show(quantity, last.measured, units)} (measured {last.ago}){now}"
