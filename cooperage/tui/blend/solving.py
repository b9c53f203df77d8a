"""Solving in its own process: a bar while it takes long, and a stop that really stops."""

from collections.abc import Callable
from time import monotonic
from typing import TypeVar

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.timer import Timer
from textual.widgets import Label, ProgressBar

from cooperage.blending.own_process import OwnProcess, Run, SolverEnded, Stopped
from cooperage.errors import CooperageError

T = TypeVar("T")

TIME_LIMIT_S = 20.0
BUSY_AFTER_S = 0.5
_LOOKS_EVERY_S = 0.2


class Solving(Horizontal):
    """What is being solved, if anything; shown only when it takes more than a moment."""

    DEFAULT_CSS = """
    Solving { height: 1; width: 1fr; display: none; }
    Solving ProgressBar { width: 14; }
    Solving Bar { width: 12; }
    Solving Label { width: 1fr; text-wrap: nowrap; text-overflow: ellipsis; }
    """

    def __init__(self, process: OwnProcess) -> None:
        super().__init__()
        self.process = process
        self._turn = 0
        self._began = 0.0
        self._seconds: float | None = None
        self._looks: Timer | None = None

    def compose(self) -> ComposeResult:
        """Show how much of the time has passed, and how to stop."""
        yield ProgressBar(TIME_LIMIT_S, show_percentage=False, show_eta=False)  # without an end it ticks while hidden
        yield Label("", markup=False)

    def on_mount(self) -> None:
        """Look at the clock now and then, while there is something to wait for."""
        self._looks = self.set_interval(_LOOKS_EVERY_S, self._look, pause=True)

    @property
    def is_solving(self) -> bool:
        """Return True while a person waits for a solve."""
        return self._seconds is not None

    @property
    def is_long(self) -> bool:
        """Return True once it has taken long enough to show a bar."""
        return bool(self.display)

    def begin(
        self, begun: Callable[[OwnProcess], Run[T]], then: Callable[[T | CooperageError], None], seconds: float | None
    ) -> None:
        """Begin a run, which takes the place of any before it; `then` gets its result, or the error.

        `seconds` is the time it may take; None for a run in the background, without a bar.
        """
        self._turn += 1
        self._began, self._seconds = monotonic(), seconds
        self._look()
        turn = self._turn
        try:
            run = begun(self.process)
        except SolverEnded as error:
            self._end(turn, error, then)
            return

        def wait() -> None:
            came: T | CooperageError
            try:
                came = run.result()
            except Stopped:
                return
            except CooperageError as error:
                came = error
            self.app.call_from_thread(self._end, turn, came, then)

        self.run_worker(wait, thread=True)

    def _end(self, turn: int, came: T | CooperageError, then: Callable[[T | CooperageError], None]) -> None:
        if turn == self._turn:
            self._seconds = None
            self._look()
            then(came)

    def stop(self) -> bool:
        """Stop the solve; return True if a person waited for it."""
        was_solving, self._seconds = self.is_solving, None
        self._turn += 1
        self.process.stop()
        self._look()
        return was_solving

    def _look(self) -> None:
        if self._looks is not None:
            (self._looks.pause if self._seconds is None else self._looks.resume)()
        elapsed = monotonic() - self._began
        was_long, is_long = self.is_long, self._seconds is not None and elapsed >= BUSY_AFTER_S
        self.display = is_long
        if was_long != is_long:
            self.screen.refresh_bindings()
        if self._seconds is not None and is_long:
            self.query_one(ProgressBar).update(total=self._seconds, progress=min(elapsed, self._seconds))
            self.query_one(Label).update(
                f"{min(elapsed, self._seconds):.0f} of at most {self._seconds:.0f} s; Esc stops"
            )
