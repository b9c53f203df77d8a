"""The form for several vessels where these are typed too: the palette opens it, whatever page one is on."""

from collections.abc import Callable

from cooperage.book import KINDS, Act, Cellar
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.programme.several.sheet import ActSheet
from cooperage.programme.several.wanted import Ground, Wanted, vessels_of, with_vessels
from cooperage.tui.key_queue import Scanned
from cooperage.tui.several.acts import act_bindings, show_outcome
from cooperage.tui.several.form import FormDone, SeveralForm
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.fields import AskedField


class WhichForm(SeveralForm):
    """Asks which vessels it is about first: tags, a series, or words that find them; they are listed as they are typed.

    Each scan names one more.
    """

    def __init__(self, kind: type[Act], then: Callable[[FormDone], None]) -> None:
        super().__init__(kind, (), {}, then, title=f"{kind.label}: several vessels")
        self._needed = [self.LISTS, *self._needed]

    def asked_fields(self) -> list[AskedField]:
        """Ask for the vessels, then as for vessels that are known."""
        which = AskedField(
            self.LISTS, "vessels", Holds.TEXT, needed=True, example="B-001..B-008, B-011; room Loft; empty"
        )
        return [which, *super().asked_fields()]

    def wanted(self, tags: object = ()) -> Wanted:  # noqa: ARG002 - the vessels are as they are typed
        """Return what is wanted as it is typed, but for what is typed for single vessels."""
        return Wanted(self._kind.kind, {name: text for name, text in self.texts.items() if text})

    def make_sheet(self, wanted: Wanted, cellar: Cellar, ground: Ground, out: set[str]) -> ActSheet:
        """Find the vessels that are named, and make their sheet."""
        if not wanted.texts.get(self.LISTS):
            return ActSheet(missing=BadField(self.LISTS, "is needed"))
        found = vessels_of(wanted, cellar, ground)
        tags = {standing.tag for standing in found}
        each = {tag: own for tag, own in self.each.items() if tag in tags}
        named = with_vessels(wanted, found, cellar)
        return super().make_sheet(Wanted(named.kind, named.texts, each), cellar, ground, out & tags)

    def show_sheet(self, sheet: ActSheet) -> None:
        """List the vessels that were found, in the room there is for so many."""
        tags = [line.tag for line in sheet.lines]
        if tags != self._tags:
            self._tags = tags
            self._lines.list_others(tags)
            self._share_room()
        super().show_sheet(sheet)

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Put a scanned tag behind the vessels that are named already."""
        row = self.rows[self.LISTS]
        if not row.is_focused or text not in self.desk.cellar:
            return super().take_scan(text, stood)
        before = (stood or "").strip().rstrip(",")
        row.set_text(f"{before}, {text}" if before else text)
        row.complain("")
        return Scanned.TAKEN


def several_words() -> list[tuple[str, str]]:
    """List what the form is opened for: words such as "fill several", and the kind of entry."""
    found = []
    for binding in act_bindings():
        action, _, kind = binding.action.partition("(")
        if action == "form":
            label = KINDS[kind.strip("')")].label
            word = binding.description
            found.append((f"{word} several{'' if label == word else f': {label}'}", kind.strip("')")))
    return found


def ask_several(screen: CellarScreen, kind: str) -> None:
    """Ask for an act on vessels that are named in the form, and show what was written."""
    screen.app.push_screen(WhichForm(KINDS[kind], lambda done: show_outcome(screen, done)))
