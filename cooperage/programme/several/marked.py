"""Marks on vessels, one key for all: a mark, then all between it and the mark before, then none of these."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Marked:
    """The vessels that are marked, in the order in which they were; `between` are those that the last key added.

    `before` is the mark before the last one, `last` the last one, while both stand.
    """

    tags: tuple[str, ...] = ()
    last: str = ""
    before: str = ""
    between: tuple[str, ...] = ()

    def pressed(self, tag: str, there: Sequence[str]) -> "Marked":
        """Return the marks after the key on a vessel; `there` are those that can be marked, in walking order.

        Pressed again on the mark that was made last, all between it and the one before are marked too; once more takes
        these away again.
        """
        if tag not in self.tags:
            return Marked((*self.tags, tag), tag, self.last if self.last in self.tags else "")
        if tag == self.last and self.before and not self.between:
            between = tuple(each for each in self._range(there) if each not in self.tags)
            if between:
                return Marked((*self.tags, *between), tag, self.before, between)
        gone = {tag, *(self.between if tag == self.last else ())}
        return Marked(tuple(each for each in self.tags if each not in gone), self.before if tag == self.last else "")

    def _range(self, there: Sequence[str]) -> Sequence[str]:
        if self.before not in there or self.last not in there:
            return ()
        first, last = sorted((there.index(self.before), there.index(self.last)))
        return there[first : last + 1]

    @property
    def can_reach(self) -> bool:
        """Whether the key pressed again on the last mark marks what lies between it and the one before."""
        return bool(self.before) and not self.between
