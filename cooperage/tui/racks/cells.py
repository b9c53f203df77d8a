"""The drawing of a vessel on the racks: tag, state, level, what it is short of full, and the due mark."""

from collections.abc import Collection

from rich.text import Text

from cooperage.book import Standing
from cooperage.programme.search.marks import Marks, State
from cooperage.tui.racks.layout import FreePlace, RackLine, Spot
from cooperage.tui.shared.gauges import level_glyph, level_words
from cooperage.units import Quantity, Units

DUE_MARK, CHOSEN_MARK = "!", "*"
STATE_MARKS = {State.LOW: "↓", State.SOAKING: "~", State.RETIRED: "x"}
"""States that a level alone does not show; the others are words."""
MARGIN = 2
"""Columns to the left of a line, for its tier."""
_BESIDE_TAG = 9  # state 1, level 1, litres short 5, due mark 1, and a gap
_LEAST_TAG, _MOST_TAG = 6, 12


def legend(units: Units) -> str:
    """Explain the marks in one line."""
    short = f"-1.2 {units.usual(Quantity.VOLUME).name} below full"
    states = [f"{mark} {state}" for state, mark in STATE_MARKS.items()]
    return "  ".join(["▇ level", short, "32% tank", f"{DUE_MARK} due", *states])


class Cells:
    """Draws spots as wide as the longest tag asks for."""

    def __init__(self, standings: Collection[Standing], marks: Marks, carried: Collection[str], units: Units) -> None:
        longest = max((len(s.tag) for s in standings), default=0)
        self._tag = min(max(longest, _LEAST_TAG), _MOST_TAG)
        self._marks, self._carried, self._units = marks, carried, units
        self.width = self._tag + _BESIDE_TAG

    def across(self, width: int) -> int:
        """Return how many fit side by side; the last needs no gap after it."""
        return max(1, (width - MARGIN + 1) // self.width)

    def at(self, x: int) -> int:
        """Return which spot of a line lies at a column of the screen; negative left of them all."""
        return (x - MARGIN) // self.width

    def before(self, spot: Spot, chosen: Collection[str]) -> str:
        """Draw the gap before a spot, with the mark of a vessel that is chosen."""
        return CHOSEN_MARK if isinstance(spot, Standing) and spot.tag in chosen else " "

    def cell(self, spot: Spot) -> str:
        """Draw one spot, without the gap around it."""
        match spot:
            case Standing():
                text = self._standing(spot)
            case FreePlace():
                text = "· free"
            case _:
                text = ""
        return f"{text:<{self.width - 1}}"

    def _standing(self, standing: Standing) -> str:
        tag = standing.tag if len(standing.tag) <= self._tag else f"{standing.tag[: self._tag - 1]}…"
        if standing.tag in self._carried:
            return f"{tag:<{self._tag}} lifted"
        marks = self._marks
        glyph = level_glyph(marks.level_ml(standing), standing.vessel.capacity_ml)
        state = next((STATE_MARKS[state] for state in marks.states(standing) if state in STATE_MARKS), " ")
        due = DUE_MARK if standing.tag in marks.due else " "
        return f"{tag:<{self._tag}}{state}{glyph}{level_words(standing, marks, self._units):>5}{due}"

    def heading(self, line: RackLine) -> Text:
        """Draw the name of a rack, and the numbers of its bays where the name leaves room."""
        text = line.heading
        for nth, bay in enumerate(line.bays):
            begins = MARGIN + nth * self.width
            if nth and len(text) + 1 < begins:
                text = f"{text:<{begins}}bay {bay}"
        return Text.assemble((text[: len(line.heading)], "bold underline"), text[len(line.heading) :])
