"""What is half typed belongs to its vessel: it is kept there, with the cursor, until it is written or cleared."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HalfTyped:
    """A line that is not written yet, and where the cursor stands in it."""

    text: str = ""
    cursor: int = 0


class Drafts:
    """The half-typed line of each vessel, and the one that was cleared last and can be brought back."""

    def __init__(self) -> None:
        self._kept: dict[str, HalfTyped] = {}
        self._cleared: dict[str, str] = {}

    def keep(self, tag: str, draft: HalfTyped) -> None:
        """Keep a vessel's line; an empty one leaves nothing."""
        self._kept.pop(tag, None)
        if draft.text.strip():
            self._kept[tag] = draft

    def of(self, tag: str) -> HalfTyped:
        """Return a vessel's line as it was left."""
        return self._kept.get(tag, HalfTyped())

    def clear(self, tag: str, text: str) -> None:
        """Clear a vessel's line, so that it can be brought back."""
        self._kept.pop(tag, None)
        if text.strip():
            self._cleared[tag] = text

    def cleared(self, tag: str) -> str:
        """Return the line of a vessel that was cleared last; empty where there is none."""
        return self._cleared.get(tag, "")

    def written(self, tag: str) -> None:
        """Forget a vessel's line: it is in the book."""
        self._kept.pop(tag, None)
        self._cleared.pop(tag, None)

    @property
    def tags(self) -> Iterable[str]:
        """The vessels with a half-typed line."""
        return tuple(self._kept)
