"""Answers of a difference test: one line a taster, a name and the code that is named, written at once."""

from functools import partial

from rich.text import Text
from textual import on

from cooperage.errors import CooperageError
from cooperage.tasting.difference.answering import answer, answered_words, parse_answers
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet
from cooperage.tasting.difference.stored import difference_flights
from cooperage.tasting.difference.turns import is_code_begun, next_answer, parted, progress_lines, set_lines
from cooperage.tasting.in_line import whole_name
from cooperage.tui.keys import pressed
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.steady import Steady
from cooperage.tui.tasting.glass_line import GlassLine, GlassRows, TasterSheet

_NOBODY = "\n"
"""By what the line is kept in which a name is to come; no taster is called so."""
_HINT = "A name and a code on one line: Iko 873. Each must choose, by guessing if need be."
_OWN_HINT = "Each must choose, by guessing if need be."


class AnswerSheet(TasterSheet):
    """One line a taster: the name, then the code that is named; or the name first, which shows the taster's glasses.

    Nothing here shows which codes are alike, or what another taster answered.
    """

    HINT = _HINT

    def __init__(self, poured: DifferenceFlight) -> None:
        super().__init__(poured.code)
        self._flight = poured

    @property
    def _proposed(self) -> str:
        return next_answer(self._flight, self.desk.hand)

    def ask_for_taster(self, done: str) -> None:
        """Close the glasses and ask who comes next; `done` is what was done."""
        code = self._flight.code
        self._flight = next(each for each in difference_flights(self.desk.book) if each.code == code)
        self._taster = ""
        self._take_up()
        self.refresh_bindings()
        opens = f"Enter opens the glasses of {self._proposed}." if self._proposed else "All have answered; Esc closes."
        self._show(" ".join(filter(None, (done, opens))))
        self._draw()

    @property
    def _draft_name(self) -> str:
        return self._taster or _NOBODY

    def _take_up(self) -> None:
        """Put what is half typed into the line: of the taster in hand, or of none yet."""
        draft = self._drafts.of(self._draft_name)
        self._line.put(draft.text, draft.cursor)

    def _draw(self) -> None:
        poured = self._flight
        asked = ["", f"  {poured.question.words}", ""]
        lines = set_lines(poured, self._taster) if self._taster else progress_lines(poured)
        shown = [*asked, *(f"  {line}" for line in lines)]
        style = "bold" if self._taster else ""
        rows = self.query_one(GlassRows)
        rows.set_lines(len(shown), lambda index, _width: Text(shown[index], style, no_wrap=True))
        self.query_one("#prompt", Steady).update("answer ›" if self._taster else "taster ›")
        self.query_one("#hint", Steady).update(_OWN_HINT if self._taster else _HINT)
        title = Text(no_wrap=True).append(f"{poured.code}  {poured.name}".rstrip(), "bold")
        title.append(f"   {self._taster or poured.question.test}", ink(self.app, "quiet"))
        self.query_one("#sheet-title", Steady).update(title)

    def _whole(self, text: str) -> str:
        """Return the line with the name that is begun completed."""
        if self._taster or any(word[:1].isdigit() for word in text.split()):
            return text
        whole = whole_name(text, self._flight.panel)
        return text + whole[len(text) :] if whole.casefold().startswith(text.casefold()) else text

    def _parted(self) -> tuple[str, str]:
        if self._taster:
            return self._taster, self._line.value.strip()
        return parted(self._line.value, self._flight.panel, self._proposed)

    @on(GlassLine.Changed)
    def _typed(self, event: GlassLine.Changed) -> None:
        """Show what Enter would take, or why it takes nothing."""
        event.stop()
        self._keep_draft()
        self._line.propose()
        name, codes = self._parted()
        if not codes:
            self._show(f"Enter opens the glasses of {name}." if name and not self._taster else "Type the code.")
            return
        try:
            named = parse_answers(codes, self._flight, name)
        except CooperageError as error:
            if is_code_begun(codes, self._flight, name):
                self._show("Type the whole code.")
            else:
                self._refused(error)
        else:
            given = "; ".join(" and ".join(each) for each in named.values())
            self._show(f"Enter takes  {name}: {given}")

    def action_take_line(self) -> None:
        """Write the answers on the line, or show the glasses of the taster who is named."""
        name, codes = self._parted()
        if not name:
            self._show("Type the name of the taster first.")
        elif not codes and not self._taster:
            self._open(name)
        else:
            book, code = self.desk.book, self._flight.code
            self.desk.attempt(
                lambda sure: answer(book, code, name, codes, sure=sure),
                partial(self._taken, name),
                self._refused,
                rereads=False,
            )

    def _open(self, name: str) -> None:
        self._drafts.written(_NOBODY)
        if self._flight.taster_named(name) not in self._flight.panel:
            self._draw_for(name)
            return
        self._taster = self._flight.taster_named(name)
        self._take_up()
        self.refresh_bindings()
        self._show("Type the code, and Enter.")
        self._draw()

    def _draw_for(self, name: str) -> None:
        """Draw sets for one who came late, after asking once; they must be poured then."""
        from cooperage.tasting.difference.pouring import draw_for  # brings NumPy

        book, code = self.desk.book, self._flight.code

        def drawn(done: tuple[DifferenceFlight, list[str]]) -> None:
            self._flight, (late, *_) = done
            self._open(late)
            self._show(f"Drawn for {late}; {pressed('glasses')} on the flight shows what to pour.")

        self.desk.attempt(lambda sure: draw_for(book, code, [name], sure=sure), drawn, self._refused, rereads=False)

    def _taken(self, name: str, done: tuple[DifferenceFlight, list[PresentedSet]]) -> None:
        """Let the next taster sit down once all sets of this one are answered."""
        poured, sets = done
        self._drafts.written(self._draft_name)
        self._save()
        taken = f"{poured.taster_named(name)}: {answered_words(poured, name, sets)}."
        self._flight = poured
        if all(each.answer for each in poured.sets_of(name)):
            self.ask_for_taster(taken)
            return
        self._open(name)
        self._show(taken)

    def action_other_taster(self) -> None:
        """Let another taster sit down."""
        self.ask_for_taster("")

    def action_step(self, _glasses: int) -> None:
        """Nothing to step through: all sets of a taster stand there at once."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Only a taster gives the sheet to another; there are no single glasses to go to."""
        return action != "step" and (action != "other_taster" or bool(self._taster))

    def action_clear_or_close(self) -> None:
        """Clear what is typed; then go back to the tasters; then close."""
        if self._line.value.strip():
            self._line.put("")
            self._keep_draft()
            next_step = "goes back to the tasters" if self._taster else "closes"
            self._show(f"Cleared; {pressed('back')} {next_step}.")
        elif self._taster:
            self.ask_for_taster("")
        else:
            self.dismiss()
