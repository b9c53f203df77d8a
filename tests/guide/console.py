"""Console fences: each `$` line is run, and what stands under it must be what comes out.

`[..]` in a line stands for what may vary, and a line `...` for any lines left out. With COOPERAGE_ACCEPT=1 in the
environment a page that shows something else is rewritten instead: what still fits is left as it stands.
"""

import os
import re
from collections.abc import Iterable, Iterator, Sequence
from difflib import SequenceMatcher
from pathlib import Path

from sybil import Document, Example, Region
from sybil.parsers.markdown import CodeBlockParser
from sybil.typing import Parser

from tests.shell import Ran, run_line

PROMPT, VARIES, LEFT_OUT = "$ ", "[..]", "..."
ACCEPTS = "COOPERAGE_ACCEPT"
LEAST_ALIKE = 0.5


def calls_in(fence: str) -> Iterator[tuple[str, list[str]]]:
    """Yield each command of a fence with the lines shown under it."""
    for part in re.split(rf"^{re.escape(PROMPT)}", fence, flags=re.MULTILINE)[1:]:
        call, *shown = part.rstrip("\n").split("\n")
        yield call, shown


def fits(shown: Sequence[str], came: Sequence[str]) -> bool:
    """Return True if what is shown may stand for what came."""
    pattern = "".join(r"(?:.*\n)*?" if line == LEFT_OUT else f"{_of_line(line)}\n" for line in shown)
    return re.fullmatch(pattern, "".join(f"{line}\n" for line in came)) is not None


def _of_line(line: str) -> str:
    return ".*?".join(map(re.escape, line.split(VARIES)))


def mended(shown: Sequence[str], came: Sequence[str]) -> list[str]:
    """Return what is to be shown instead: what came; where lines were left out, the ones most like those shown."""
    if LEFT_OUT not in shown:
        padded = [*shown, *[""] * len(came)]
        return [_mended_line(old, new) for old, new in zip(padded, came, strict=False)]
    found, place = [], 0
    for line in (each for each in shown if each != LEFT_OUT):
        at = _most_like(line, came, place)
        if at is not None:
            found += [] if at == place else [LEFT_OUT]
            found.append(_mended_line(line, came[at]))
            place = at + 1
    return [*found, LEFT_OUT] if place < len(came) else found


def _mended_line(old: str, new: str) -> str:
    """Return the old line if it fits; else the new one, cut where the old one first marked what may vary."""
    if old and fits([old], [new]):
        return old
    before, varies, _ = old.partition(VARIES)
    return f"{new[: len(before)]}{VARIES}" if varies else new


def _most_like(line: str, came: Sequence[str], place: int) -> int | None:
    """Return where the line stands from a place on, else where the one most like it does, if one is like it."""
    for at in range(place, len(came)):
        if fits([line], [came[at]]):
            return at
    before = line.partition(VARIES)[0]
    alike = {at: SequenceMatcher(None, before, came[at][: len(before)]).ratio() for at in range(place, len(came))}
    best = max(alike, key=lambda at: alike[at], default=None)
    return best if best is not None and alike[best] >= LEAST_ALIKE else None


def _lines(ran: Sequence[Ran]) -> list[str]:
    text = "".join(each.output for each in ran).rstrip("\n")
    return [line.rstrip() for line in text.split("\n")] if text else []


class ConsoleParser(CodeBlockParser):
    """The console fences of a page; what does not fit is kept as its mended text."""

    language = "console"

    def __init__(self) -> None:
        super().__init__()
        self.mended: list[tuple[Region, str]] = []

    def evaluate(self, example: Example) -> str | None:
        """Run a fence; return what differs, or nothing."""
        parts, differs = [], []
        for call, shown in calls_in(example.parsed):
            came = _lines(run_line(call))
            parts.append("\n".join([f"{PROMPT}{call}", *(shown if fits(shown, came) else mended(shown, came))]))
            if not fits(shown, came):
                differs.append("\n".join([f"{PROMPT}{call}", *came]))
        if differs and os.environ.get(ACCEPTS):
            self.mended.append((example.region, "\n".join(parts) + "\n"))
            return None
        return "\n".join(differs) or None


def run_page(path: Path, others: Iterable[Parser] = ()) -> None:
    """Run every example of a page in order; rewrite it if that is asked."""
    consoles = ConsoleParser()
    document = Document.parse(str(path), consoles, *others)
    for example in document.examples():
        example.evaluate()
    text = document.text
    for region, fence in reversed(consoles.mended):
        source = region.lexemes["source"]
        start = region.start + source.offset
        text = text[:start] + fence + text[start + len(source) :]
    if text != document.text:
        path.write_text(text, encoding="utf-8")
