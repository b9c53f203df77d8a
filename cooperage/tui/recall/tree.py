"""The paths of a trace as a tree that folds: which branches are unfolded, and the lines there are then."""

from collections.abc import Iterator, Sequence

from cooperage.book.trace import share_words
from cooperage.programme.recall.found import Recall, RecallBranch
from cooperage.programme.recall.words import litres_words, place_words
from cooperage.tui.columns import ListedColumns
from cooperage.tui.keys import pressed
from cooperage.tui.recall.lines import ListedLine, ListedTable, day_words, hands_words
from cooperage.units import Units

_UNFOLDED_WHOLE = 12
"""Branches up to which a tree comes up unfolded."""
_ABOVE, _FOLDED = " (above)", " →"
_IS_ABOVE = f"unfolded further up; {pressed('right')} goes there"
_IS_FOLDED = f"{pressed('right')} unfolds it"


class FoldedTree:
    """A tree as it is folded now; branches are named by their place in `Recall.tree`."""

    def __init__(self, found: Recall, units: Units) -> None:
        self._units = units
        self._branches: Sequence[RecallBranch] = found.tree
        self._parents = _parents(found.tree)
        self._children: dict[int, list[int]] = {}
        for at, parent in enumerate(self._parents):
            if parent is not None:
                self._children.setdefault(parent, []).append(at)
        self._open = {at for at in self._children if self._comes_up_open(at)}
        self.visible: list[int] = []
        self._lay()

    def _comes_up_open(self, at: int) -> bool:
        """Return True of what begins, and of what is alone below or above another: a fold there would hide all."""
        parent = self._parents[at]
        is_alone = parent is None or len(self._children[parent]) == 1 or len(self._children[at]) == 1
        return is_alone or len(self._branches) <= _UNFOLDED_WHOLE

    def _lay(self) -> None:
        self.visible = list(self._unfolded())
        self.table = self._table()

    def _unfolded(self) -> Iterator[int]:
        hidden_below: int | None = None
        for at, branch in enumerate(self._branches):
            if hidden_below is not None and branch.depth > hidden_below:
                continue
            hidden_below = branch.depth if at in self._children and at not in self._open else None
            yield at

    # --- folding ----------------------------------------------------------------------------------------------------

    def unfold(self, line: int) -> int:
        """Unfold a line, or go to where it is unfolded further above; return the line to stand on."""
        at = self.visible[line]
        branch = self._branches[at]
        if branch.is_above:
            return self._line_of(next(n for n, each in enumerate(self._branches) if each.place == branch.place))
        if at in self._children and at not in self._open:
            self._open.add(at)
            self._lay()
        return line

    def _line_of(self, at: int) -> int:
        parent = self._parents[at]
        while parent is not None:
            self._open.add(parent)
            parent = self._parents[parent]
        self._lay()
        return self.visible.index(at)

    def fold(self, line: int) -> int:
        """Fold a line, or go to the one above it; return the line to stand on."""
        at = self.visible[line]
        if at in self._open:
            self._open.discard(at)
            self._lay()
            return line
        parent = self._parents[at]
        return line if parent is None else self.visible.index(parent)

    def can_unfold(self, line: int) -> bool:
        """Return True if a line has more below it than is shown here."""
        at = self.visible[line]
        return self._branches[at].is_above or (at in self._children and at not in self._open)

    # --- lines ------------------------------------------------------------------------------------------------------

    def _table(self) -> ListedTable:
        """Return the lines as the tree is folded now."""
        lines = [self._line(at, stem) for at, stem in zip(self.visible, self._stems(), strict=True)]
        titles = ("what", "volume", "share", "day", "by")
        return ListedTable(ListedColumns(titles, ((4, 0), (3, 0)), frozenset((1, 2))), lines)

    def _stems(self) -> list[str]:
        """Return the lines that lead to each branch that is shown."""
        last = {children[-1] for children in self._children.values()}
        stems: list[str] = []
        ahead: list[str] = []
        for at in self.visible:
            depth = self._branches[at].depth
            del ahead[depth:]
            stems.append("".join(ahead[1:]) + (("└ " if at in last else "├ ") if depth else ""))
            ahead.append("  " if at in last else "│ ")
        return stems

    def _line(self, at: int, stem: str) -> ListedLine:
        branch, units = self._branches[at], self._units
        is_folded = at in self._children and at not in self._open
        name = place_words(branch)
        day, hands = day_words(branch.first, branch.last), hands_words(branch.hands)
        litres, share = litres_words(branch.ml, units), share_words(branch.fraction, units, digits=2)
        mark = _ABOVE if branch.is_above else _FOLDED if is_folded else ""
        more = _IS_ABOVE if branch.is_above else _IS_FOLDED if is_folded else ""
        words = ", ".join(
            part for part in (name, f"{litres}, {share} of it", day, f"by {hands}" if hands else "", more) if part
        )
        kind = "" if branch.kind in ("outside", "honey") else branch.kind
        return ListedLine((f"{stem}{name}{mark}", litres, share, day, hands), words, kind, branch.place)


def _parents(branches: Sequence[RecallBranch]) -> list[int | None]:
    parents: list[int | None] = []
    ahead: list[int] = []
    for at, branch in enumerate(branches):
        del ahead[branch.depth :]
        parents.append(ahead[-1] if ahead else None)
        ahead.append(at)
    return parents
