"""A question to a recall with what was found of it, the side that is shown, and where the cursor stands."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.programme.recall.asked import FORWARD, RecallQuestion, recall
from cooperage.programme.recall.claims import LabelClaims, label_claims
from cooperage.programme.recall.found import Recall
from cooperage.tui.recall.lines import ListedTable, added_of, hands_of, table_of
from cooperage.tui.recall.tree import FoldedTree
from cooperage.units import Units

TABLE, TREE, ADDED, HANDS, LABEL = "table", "tree", "added", "hands", "label"


@dataclass(slots=True)
class AskedQuestion:
    """What was asked, by a page elsewhere or here, and what was found; a refusal is found too.

    `is_of_now` is False once the book was written since.
    """

    question: RecallQuestion
    is_from_elsewhere: bool
    side: str = TABLE
    found: Recall | CooperageError | None = None
    is_of_now: bool = False
    claims: LabelClaims | CooperageError | None = None
    cursors: dict[str, int] = field(default_factory=dict)
    tree: FoldedTree | None = None
    tables: Mapping[str, ListedTable] = field(default_factory=dict)

    @property
    def sides(self) -> tuple[str, ...]:
        """What there is to see of it."""
        if not isinstance(self.found, Recall) or self.found.direction == FORWARD:
            return TABLE, TREE, HANDS
        return TABLE, TREE, ADDED, HANDS, LABEL

    def turn_side(self) -> None:
        """Go on to the next side."""
        sides = self.sides
        self.side = sides[(sides.index(self.side) + 1) % len(sides)] if self.side in sides else sides[0]

    def take(self, answered: "Answered") -> None:
        """Take what was found."""
        self.found, self.tree, self.tables, self.claims = answered.found, answered.tree, answered.tables, None
        self.is_of_now = True
        if self.side not in self.sides:
            self.side = TABLE

    def leads(self, kind: str, code: str, direction: str) -> RecallQuestion | None:
        """Return what a line is asked next, one way or the other; None where that leads nowhere new."""
        asked, found = self.question, self.found
        if not isinstance(found, Recall):
            return None
        is_it = kind == "subject" or code.upper() == asked.code.strip().upper()
        if is_it and direction == found.direction:
            return None
        if kind == "subject":
            can_turn = direction == FORWARD or (found.leads_back and not asked.hand)
            return RecallQuestion(asked.code, asked.hand, asked.span, direction) if can_turn else None
        if kind == "hand":
            return RecallQuestion(hand=code) if direction == FORWARD else None
        if kind in ("lot", "entry"):
            return RecallQuestion(code) if direction == FORWARD else None
        return RecallQuestion(code, direction=direction) if kind in ("vessel", "bottling") else None


@dataclass(frozen=True, slots=True)
class Answered:
    """What was found, with its lines, which take as long to make where there are thousands."""

    found: Recall | CooperageError
    tree: FoldedTree | None = None
    tables: Mapping[str, ListedTable] = field(default_factory=dict)


def answer(book: Book, question: RecallQuestion, units: Units) -> Answered:
    """Answer a question; a refusal is an answer. Called in a thread."""
    try:
        found = recall(book, question)
    except CooperageError as error:
        return Answered(error)
    tables = {TABLE: table_of(found, units), ADDED: added_of(found, units), HANDS: hands_of(found)}
    return Answered(found, FoldedTree(found, units), tables)


def claims_behind(book: Book, code: str) -> LabelClaims | CooperageError:
    """Return what stands behind a label, or why that is not known."""
    try:
        return label_claims(book, code)
    except CooperageError as error:
        return error
