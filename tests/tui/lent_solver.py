"""A solver for the tests of the blend screens: its process is begun once, and is not killed by what only takes over."""

from collections.abc import Callable
from threading import Lock
from typing import Any

from cooperage.blending.own_process import OwnProcess, Stopped


class LentSolver:
    """One solver's process for all blend screens, since to begin one takes longer than a test.

    A run that is stopped is let go on to its end, unheard; the next one waits for that. What really kills the process
    is tested with solvers that a test has for itself.
    """

    def __init__(self) -> None:
        self.own, self._in_turn = OwnProcess(), Lock()
        self._newest: LentRun | None = None

    def warm(self) -> None:
        """Begin the process."""
        self.own.warm()

    def begin(self, work: Any, *args: Any, **kwargs: Any) -> "LentRun":
        """Let a run take the place of any before it."""
        self.stop()
        self._newest = LentRun(self._in_turn, lambda: self.own.run(work, *args, **kwargs))
        return self._newest

    def stop(self) -> bool:
        """Let nobody hear of the newest run; say whether it was running."""
        if self._newest is None or self._newest.is_over:
            return False
        self._newest.was_stopped = True
        return True

    close = stop  # by one screen of many


class LentRun:
    """A run in the lent process, begun when those before it are over."""

    def __init__(self, in_turn: Lock, run: Callable[[], Any]) -> None:
        self._in_turn, self._run = in_turn, run
        self.is_over = self.was_stopped = False

    def result(self) -> Any:
        """Wait; raises Stopped where it was stopped."""
        with self._in_turn:
            try:
                came = None if self.was_stopped else self._run()
            finally:
                self.is_over = True
        if self.was_stopped:
            raise Stopped
        return came
