"""Messages that name a command for a terminal, put for a screen: with the key or the page that does the same.

Refusals of the book and of files come in the words of the command line. Whatever a screen shows of one passes here;
`tests/tui/test_on_screen.py` holds every such message of the program against it.
"""

import re
from collections.abc import Mapping

from cooperage.errors import CooperageError
from cooperage.tui.keys import pressed
from cooperage.units import Units

_FIND, _TODAY, _RACKS, _PANEL, _LOTS, _BOOK, _ALL, _CHECK, _QUIT = (
    pressed(word) for word in ("find", "today", "racks", "panel", "lots", "book", "all", "check", "quit")
)
_RUNS = f"{_ALL} “bottling runs”"
_TRIALS = f"{_ALL} “trials”"
_LEAVE = f"leave with {_QUIT}, and put the last backup in its place"
INSTEAD: Mapping[str, str] = {
    r"`cooperage barrels` lists the tags": f"{_FIND} finds one by a part of its tag",
    r"`cooperage barrels` lists them": f"{_RACKS} shows them",
    r"`cooperage report bottlings` lists the bottlings": f"{_LOTS} lists the bottlings",
    r"`cooperage report book` shows the ids, or give 'last'": f"{_BOOK} shows the entries",
    r"`cooperage report book` shows the hands": f"{_BOOK} shows who wrote each",
    r"\(`cooperage report book`\)": f"({_BOOK}, the book)",
    r"`cooperage orders` lists them": f"{_TODAY} lists them",
    r"`cooperage taste flights` lists them": f"{_PANEL} lists them",
    r"`cooperage taste score [^`]*`, then `cooperage taste reveal[^`]*`": f"{_PANEL} scores and reveals it",
    r"`cooperage taste reveal[^`]*`": f"{_PANEL} reveals it",
    r"`cooperage taste results [^`]*`": f"{_PANEL} shows what it found",
    r"`cooperage taste sheet [^`]*` draws some": f"{pressed('enter')} on the name alone draws some",
    r"`cooperage log bottle` writes a bottling": f"{pressed('bottle')} on the page of a tank bottles it",
    r"name one: `cooperage taste sheet [^`]*`": f"{_PANEL} scores it and asks for the taster",
    r"`cooperage taste words` lists them, `taste words add [^`]*` adds one": "leave it out, or use one that is there",
    r"`cooperage ready define [^`]*`": f"{_ALL} “define ready”",
    r"`cooperage ready definitions` lists them": f"{_ALL} “define ready” shows the cellar's",
    r"`cooperage taste words add attribute [^`]*` brings it back": "choose one that is scored",
    r"`cooperage trial pour [^`]*` pours it": f"{_TRIALS} pours it",
    r"`cooperage trial list` lists them, `cooperage trial barrels list` those across barrels": f"{_TRIALS} lists them",
    r"`cooperage trial list` lists them": f"{_TRIALS} lists them",
    r"`cooperage trial barrels list` shows them": f"{_TRIALS} shows them",
    r"`cooperage trial barrels results` has its answer": f"{_TRIALS} has its answer",
    r"`cooperage trial barrels plan` shows what one could find": f"{pressed('new')} shows what one could find",
    r"write them with `cooperage log reading`": f"write them with {pressed('read')} on the page of each barrel",
    r"`cooperage lot batch` writes one": "it is written on the command line",
    r"enter it: `cooperage rules set[^`]*`": "enter it on the command line, where rules are set",
    r"`cooperage bottling list` shows them": f"{_RUNS} lists them",
    r"; `cooperage bottling open`": f"; {_RUNS} and {pressed('new')} open one",
    r"`cooperage bottling show [^`]*` numbers them": "the newest is listed first, each with its number",
    r"`cooperage trial plan [^`]*` plans one": f"{pressed('new')} plans one",
    r"`cooperage trial results [^`]*`": f"{_TRIALS} shows what it found",
    r"`cooperage period differences [^`]*`": f"{pressed('view')} lists them",
    r"`cooperage period close`": f"{_ALL} “periods” and {pressed('write')} file one",
    r"register one that was bought with `cooperage add vessel`": f"{_ALL} “register a vessel” brings in a bought one",
    r"Set a price with `cooperage prices set [^`]*`": f"{_ALL} “a price” sets one",
    r"`cooperage cellar currency [^`]*` sets it": f"{_ALL} “settings of the cellar” sets it",
    r"change it with `cooperage cellar`": f"change it with {_ALL} “settings of the cellar”",
    r"`cooperage check` lists all of it, and `cooperage restore [^`]*` puts the last good backup in its place": (
        f"{_BOOK} and then {_CHECK} list all of it; {_LEAVE}"
    ),
    r"put the last (?:good one|backup) in its place with `cooperage restore [^`]*`": _LEAVE,
    r"`cooperage copy` makes a copy that has it": "a copy of the cellar has it again",
    r"or use `cooperage copy --to FILE`": "or copy the cellar into a file",
    r"name the file that `cooperage backup` made": "name a file that was made as a backup",
    r"fill it with `cooperage import` or `cooperage add`": f"{_ALL} “import” brings in what you have",
}
"""How a message names a command (a pattern), and what stands for that on screen."""


def on_screen(text: str) -> str:
    """Return a message with keys and pages in place of commands."""
    if "cooperage " not in text:
        return text
    for pattern, instead in INSTEAD.items():
        text = re.sub(pattern, instead.replace("\\", r"\\"), text)
    return text


def said(error: CooperageError, units: Units) -> str:
    """Return what was refused and why, in the person's units, in the words of a screen."""
    return on_screen(error.words(units))
