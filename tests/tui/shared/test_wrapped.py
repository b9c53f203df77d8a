"""Text that is wrapped: nothing is lost, and a figure keeps its unit."""

from typing import Any

from rich.console import Console
from rich.style import Style
from rich.text import Text

from cooperage.tui.shared.wrapped import rows_of

WORDS = "to fill 447.3 L (447.3 L to 447.4 L) at 12.1 % vol and 20.5 °C for 8.60 EUR, 22.0 mg/L in 8 of 10 bottles"
UNITS = ("L", "%", "°C", "EUR", "mg/L")


class Shown:
    """As much of a widget as wrapping asks for."""

    def __init__(self) -> None:
        self.app: Any = self
        self.console = Console(width=80)


def test_a_figure_and_its_unit_stand_in_one_row() -> None:
    """At whatever width, set in or not: "447.3" at the end of a row and "L" below it are read as two things."""
    shown: Any = Shown()
    for width in range(18, 80):
        for words in (WORDS, f"  {WORDS}"):
            rows = [row.plain for row in rows_of(Text(words), width, shown)]
            assert " ".join(" ".join(rows).split()) == WORDS
            assert not [row for row in rows if row.strip().startswith(UNITS)], rows
            assert max(map(len, rows)) <= width


def test_what_is_coloured_stays_so() -> None:
    text = Text("3 of 3 outside ").append("447.3 L", Style(bold=True)).append(" left where it was")
    rows = rows_of(text, 20, Shown())  # type: ignore[arg-type]
    bold = [row.plain[span.start : span.end].strip() for row in rows for span in row.spans]
    assert bold == ["447.3 L"]
