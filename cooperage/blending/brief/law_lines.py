"""Lines of tax and label law that a blend may be kept under with one word: `under = ["16 % vol"]`.

They are shown as reference, with their citation, never as advice: lines move, and which of them applies to a mead is
for its maker's own authority to decide.
"""

from dataclasses import dataclass

from cooperage.blending.brief.values import BadBrief, Bound, read_names
from cooperage.errors import choose_from

HAIR = {"abv": 0.01, "total_so2_mg_l": 0.1}  # how far under a line that must not be reached


@dataclass(frozen=True, slots=True)
class Line:
    """One line: the figure it is about, the most a blend may have, and where it is written.

    `reached_is_over` marks the lines that a blend must stay below; on the others it may stand.
    """

    name: str
    figure: str
    most: float
    what: str
    citation: str
    reached_is_over: bool = False

    @property
    def span(self) -> Bound:
        """The limit that keeps a blend under the line."""
        return Bound(high=self.most - (HAIR[self.figure] if self.reached_is_over else 0.0))

    def words(self) -> str:
        """Return the line and where it is written."""
        return f"kept under {self.name}: {self.what} ({self.citation}); shown as reference, not as advice"


LINES: dict[str, Line] = {
    line.name: line
    for line in (
        Line("8.5 % vol", "abv", 8.5, "the low-alcohol mead class", "26 U.S.C. 5041(h)", reached_is_over=True),
        Line("14 % vol", "abv", 14.0, "labels with a tolerance of 1.5 % vol", "27 CFR 4.36"),
        Line("16 % vol", "abv", 16.0, "the lowest class of still wine", "26 U.S.C. 5041(b)(1)"),
        Line("21 % vol", "abv", 21.0, "the second class of still wine", "26 U.S.C. 5041(b)(2)"),
        Line("24 % vol", "abv", 24.0, "beyond it the law has spirits", "26 U.S.C. 5041(b)(3)"),
        Line("sulphites US", "total_so2_mg_l", 10.0, "no statement of sulphites", "27 CFR 4.32(e)", True),
        Line("sulphites EU", "total_so2_mg_l", 10.0, "no naming of sulphites", "Reg. (EU) 1169/2011, Annex II"),
        Line("SO2 US", "total_so2_mg_l", 350.0, "the most total SO2 in wine", "27 CFR 4.22(b)(1)"),
    )
}


def under_of(value: object, key: str) -> tuple[str, ...]:
    """Read names of lines; raises BadBrief with those there are."""
    names = read_names(value, key, "16 % vol")
    for name in names:
        if name not in LINES:
            raise BadBrief(key, f"knows no line {name!r}{choose_from(name, LINES)}")
    return names


def narrowed(limits: dict[str, Bound], under: tuple[str, ...]) -> dict[str, Bound]:
    """Return limits that also keep under these lines."""
    kept = dict(limits)
    for line in (LINES[name] for name in under):
        asked = kept.get(line.figure, Bound())
        high = min(asked.high, line.span.high)
        if asked.low > high:
            raise BadBrief("under", f"{line.name!r} leaves nothing of limits.{line.figure}, which asks for more")
        kept[line.figure] = Bound(asked.low, high, asked.target)
    return kept
