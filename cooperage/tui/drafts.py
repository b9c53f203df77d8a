"""What is half typed belongs to its vessel: it is kept there, with the cursor, until it is written or cleared.

It is also kept on disk beside the person's settings, so that the program opens again on the same day with what was half
typed; a folder that cannot be written, or a file that is broken, means that it is not.
"""

import json
import os
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import astuple, dataclass
from hashlib import blake2b
from pathlib import Path
from tempfile import NamedTemporaryFile

from cooperage.settings import settings_path

_FOLDER = "half-typed"
_BROKEN = (OSError, ValueError, KeyError, TypeError, AttributeError)


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
        self._saved: dict[str, HalfTyped] = {}

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

    # --- on disk ----------------------------------------------------------------------------------------------------

    def take_up(self, cellar: str, day: str) -> None:
        """Take up what was half typed in a cellar on the same day, and not written since."""
        with suppress(*_BROKEN):
            found = json.loads(_file(cellar).read_bytes())
            if found["day"] == day:
                lines = {str(tag): HalfTyped(str(text), int(at)) for tag, (text, at) in found["lines"].items()}
                self._kept, self._saved = lines, dict(lines)

    def save(self, cellar: str, day: str, but: str = "") -> None:
        """Save what is half typed now, `but` for one vessel, whole or not at all; where nothing is, no file is left."""
        lines = {tag: draft for tag, draft in self._kept.items() if tag != but}
        if lines == self._saved:
            return
        self._saved, path = lines, _file(cellar)
        with suppress(OSError):
            if not lines:
                path.unlink(missing_ok=True)
                return
            text = json.dumps({"day": day, "lines": {tag: astuple(draft) for tag, draft in lines.items()}})
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with NamedTemporaryFile("w", dir=path.parent, suffix=".part", delete=False, encoding="utf-8") as half_done:
                half_done.write(text)
            Path(half_done.name).replace(path)


def _file(cellar: str) -> Path:
    """Return the file of a cellar, whose name shows nothing of it."""
    name = blake2b(cellar.encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()
    return settings_path(os.environ).parent / _FOLDER / f"{name}.json"
