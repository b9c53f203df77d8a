"""The sheet of keys: what acts where the person was, read from the bindings and the one table of keys; the marks."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text
from textual import events
from textual.app import App, ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from cooperage.tui.guide.over import OverScreen
from cooperage.tui.keys import OVER_DIALOGS, TABLE, Key, bound, key_of, key_words, pressed, words_of_key
from cooperage.tui.shared.bars import active_keys
from cooperage.tui.shared.ink import DONE, DUE, HERE, OUT_OF_REACH, SKIPPED, TROUBLE, ink

MARKS = (
    (TROUBLE, "trouble"), (DUE, "due"), (DONE, "done"), (SKIPPED, "skipped"), (OUT_OF_REACH, "out of reach"),
    (HERE, "here"), ("(!)", "mind a caution"),
)  # fmt: skip
SIGNS = (
    ("~", "calculated"), ("±", "holds 90 times in 100"), ("45 d", "since measured"), ("?", "unknown"),
    ("–", "nothing to show"),
)  # fmt: skip
_ROLES: Mapping[str, str] = {TROUBLE: "ember", DUE: "honey", DONE: "rain"}

IN_LIST, NOT_NOW, ELSEWHERE = "In the list", "Not now", "Elsewhere"
_PARTS = ("Here", IN_LIST, NOT_NOW, ELSEWHERE, "Moving", "Always")
_RULES = (
    "A letter acts where no line or box has the cursor; capitals and figures begin a tag. Where function keys do not "
    f"arrive, {pressed('all')} lists the places."
)
_LABEL, _GAP, _MOST_COLUMNS = 12, 2, 3
_WIDE, _OWN_SIDE, _ALWAYS_SIDE, _BETWEEN = 130, 36, 44, 3

KeyLine = tuple[str, str, str]
"""A key, its word on the bar, and what it does here."""


def key_parts(screen: Screen[Any]) -> dict[str, list[KeyLine]]:
    """Return the keys by where they act: here, in the list, on other screens, moving the cursor, everywhere.

    Letters of the screen that do not act stand under "In the list" where the line has the cursor, else under "Not now".
    """
    parts: dict[str, list[KeyLine]] = {part: [] for part in _PARTS}
    for active in sorted(active_keys(screen, with_cursor=True), key=_order):
        parts[_part(screen, active)].append(_line(active.binding))
    if isinstance(screen, ModalScreen):
        parts["Always"] += [_meant(TABLE[word]) for word in OVER_DIALOGS if not _takes(screen, TABLE[word])]
    known = {key for lines in parts.values() for key, _, _ in lines}
    waiting = IN_LIST if screen.focused is not None and screen.focused.check_consume_key("a", "a") else NOT_NOW
    parts[waiting] = [_line(each) for each in _letters_of(screen) if key_words(each.key) not in known]
    known |= {key for key, _, _ in parts[waiting]}
    parts[ELSEWHERE] = [_meant(key) for key in TABLE.values() if _is_letter(key) and key_words(key.first) not in known]
    return {title: list(dict.fromkeys(lines)) for title, lines in parts.items() if lines}


_WORDS = tuple(TABLE)


def _order(active: ActiveBinding) -> tuple[bool, int]:
    """Acts stand first, as the screen has them; keys that go somewhere as the table has them."""
    key = key_of(active.binding)
    is_act = key is None or key.group == "act"
    return not is_act, 0 if is_act or key is None else _WORDS.index(key.word)


def _part(screen: Screen[Any], active: ActiveBinding) -> str:
    key = key_of(active.binding)
    if active.node is screen.app:
        return "Always"
    return "Moving" if key is not None and key.group == "cursor" else "Here"


def _letters_of(screen: Screen[Any]) -> list[Binding]:
    """List the letters that the screen itself binds, those too that the line takes for text while it has the cursor."""
    found = (binding for bindings in screen._bindings.key_to_bindings.values() for binding in bindings)
    return [each for each in found if (key := key_of(each)) is not None and _is_letter(key)]


def _is_letter(key: Key) -> bool:
    return len(key.first) == 1 and key.group == "act"


def _line(binding: Binding) -> KeyLine:
    return key_words(binding.key), binding.description, words_of_key(binding)


def _meant(key: Key) -> KeyLine:
    return key_words(key.first), key.word, key.means


def _takes(screen: Screen[Any], key: Key) -> bool:
    """Return True if a dialog has another use for a key, or what is focused takes it for text."""
    is_text = screen.focused is not None and screen.focused.check_consume_key(key.first, key_words(key.first))
    return key.first in screen.active_bindings or (len(key_words(key.first)) == 1 and is_text)


class KeySheet(OverScreen):
    """Every key that acts on the screen it was called from, and what the marks mean."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("keys", "dismiss(None)", "close", show=False),
        bound("guide", "leave_for('guide')"),
    ]

    def __init__(self, screen: Screen[Any], here: str) -> None:
        super().__init__(here)
        self.parts = key_parts(screen)
        self._is_of_page = not isinstance(screen, ModalScreen)

    def compose_page(self) -> ComposeResult:
        """Make room for the keys; what does not fit scrolls."""
        with VerticalScroll(id="key-sheet"):
            yield Static(id="keys-here")

    def on_mount(self) -> None:
        """Show what this is."""
        of_what = f"Keys on {self.here}" if self._is_of_page else "Keys of what is open"
        self.show_title(of_what, f"{pressed('back')} closes")

    def on_resize(self, event: events.Resize) -> None:
        """Set the keys in the room there is."""
        width = event.size.width - 4
        shown = self._wide(width) if event.size.width >= _WIDE else self._narrow(width)
        self.query_one("#keys-here", Static).update(shown)

    # --- setting --------------------------------------------------------------------------------------------------

    def _narrow(self, width: int) -> RenderableType:
        """Set each part beside its name, its keys by their words on the bar, in as many columns as fit."""
        sheet = Table.grid()
        sheet.add_column(width=_LABEL)
        sheet.add_column(width=width - _LABEL)
        for title, lines in self.parts.items():
            pairs = [(key, word) for key, word, _ in lines]
            set_keys = columns if title in ("Here", IN_LIST, NOT_NOW) else flow
            sheet.add_row(self._title(title), set_keys(self.app, pairs, width - _LABEL))
        sheet.add_row(self._title("Marks"), flow(self.app, MARKS, width - _LABEL))
        sheet.add_row(self._title("Signs"), flow(self.app, SIGNS, width - _LABEL))
        sheet.add_row("", Text(_RULES, ink(self.app, "quiet")))
        return sheet

    def _wide(self, width: int) -> RenderableType:
        """Set the parts side by side, each key on a row of its own with all it means."""
        across = Table.grid(padding=(0, _BETWEEN, 0, 0))
        for each in (_OWN_SIDE, width - _OWN_SIDE - _ALWAYS_SIDE - 2 * _BETWEEN, _ALWAYS_SIDE):
            across.add_column(width=each)
        always = self._rows(["Always"])
        moving = flow(self.app, [(key, word) for key, word, _ in self.parts.get("Moving", [])], _ALWAYS_SIDE - 2)
        always_side = Group(always, self._title("Moving"), Padding(moving, (0, 0, 0, 2)))
        across.add_row(self._rows(["Here", IN_LIST, NOT_NOW]), self._rows([ELSEWHERE]), always_side)
        rules = Text(_RULES, ink(self.app, "quiet"))
        return Group(across, self._labelled("Marks", MARKS), self._labelled("Signs", SIGNS), Text(""), rules)

    def _rows(self, titles: Sequence[str]) -> Table:
        rows = Table.grid(padding=(0, 2, 0, 0))
        rows.add_column(no_wrap=True)
        rows.add_column()
        for title in titles:
            if title in self.parts:
                rows.add_row(self._title(f"{title:<8}"), "")
            for key, _, means in self.parts.get(title, []):
                rows.add_row(Text(f"  {key}", ink(self.app, "ink", bold=True)), Text(means, ink(self.app, "quiet")))
            rows.add_row("", "")
        return rows

    def _labelled(self, title: str, pairs: Sequence[tuple[str, str]]) -> Text:
        return Text.assemble(self._title(f"{title:<{_LABEL}}"), flow(self.app, pairs, 1000))

    def _title(self, title: str) -> Text:
        return Text(title, ink(self.app, "ink", bold=True))


def columns(app: App[Any], pairs: Sequence[tuple[str, str]], width: int) -> Text:
    """Set keys below one another, in the most columns of one width that fit."""
    widest = max(cell_len(f"{key} {word}") for key, word in pairs) + _GAP
    count = max(1, min(_MOST_COLUMNS, (width + _GAP) // widest))
    deep = -(-len(pairs) // count)
    lines = []
    for row in range(deep):
        line = Text()
        for key, word in pairs[row::deep]:
            line.append_text(_key(app, key, word))
            line.pad_right(width // count - cell_len(f"{key} {word}"))
        line.rstrip()
        lines.append(line)
    return Text("\n").join(lines)


def flow(app: App[Any], pairs: Sequence[tuple[str, str]], width: int) -> Text:
    """Set keys one after the other, filling each line."""
    lines, line = [], Text()
    for key, word in pairs:
        each = _key(app, key, word)
        if line and line.cell_len + _GAP + each.cell_len > width:
            lines.append(line)
            line = Text()
        if line:
            line.append(" " * _GAP)
        line.append_text(each)
    return Text("\n").join([*lines, line])


def _key(app: App[Any], key: str, word: str) -> Text:
    style = ink(app, _ROLES.get(key, "ink"), bold=True)
    return Text.assemble((key, style), " ", (word, ink(app, "quiet")))
