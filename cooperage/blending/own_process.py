"""Work in a process of its own, so that it can really be stopped: HiGHS cannot be interrupted, a process can.

`OwnProcess.begin(solve, pool, brief)` calls the function over there, and `result()` of it waits for what it returned.
The process is kept warm between runs; it is killed, and the next run begins another, when a run is stopped or a newer
one takes its place. It ends by itself when the program it belongs to is gone. What is called and returned is pickled.
"""

import os
import pickle
import queue
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Any, BinaryIO, Generic, ParamSpec, TypeVar

from cooperage.errors import CooperageError, Refused
from cooperage.machine import detached_process_options

P = ParamSpec("P")
T = TypeVar("T")

_BROKEN = (EOFError, OSError, ValueError, pickle.UnpicklingError)  # a pipe whose other end is gone, also in mid-word


class Stopped(Refused):
    """A run that was stopped, or whose place a newer one has taken."""

    def __init__(self) -> None:
        super().__init__("the solve was stopped; solve again when you like")


class SolverEnded(CooperageError):
    """A process that ended before its answer was there, or cannot be started."""

    def __init__(self, why: str) -> None:
        super().__init__(f"the solver {why}; solve again, and if it happens again with fewer stocks or looser limits")


class _Process:
    """One process, as its owner sees it."""

    def __init__(self) -> None:
        self.is_busy = False
        self.was_stopped = False
        try:
            self._popen = subprocess.Popen(
                [sys.executable, "-P", "-c", "from cooperage.blending.own_process import serve; serve()"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
                **detached_process_options(),
            )
        except OSError as error:
            raise SolverEnded(f"could not be started ({(error.strerror or '').lower()})") from error

    @property
    def has_ended(self) -> bool:
        return self.was_stopped or self._popen.poll() is not None

    @property
    def pid(self) -> int:
        return self._popen.pid

    def call(self, task: bytes) -> tuple[bool, Any]:
        """Send a pickled task and wait for what comes of it; raises Stopped, SolverEnded."""
        assert self._popen.stdin is not None
        assert self._popen.stdout is not None
        try:
            self._popen.stdin.write(task)
            self._popen.stdin.flush()
            came: tuple[bool, Any] = pickle.load(self._popen.stdout)
        except _BROKEN as error:
            if self.was_stopped:
                raise Stopped from error
            self.stop()
            raise SolverEnded(f"ended before its answer was there (exit status {self._popen.returncode})") from error
        finally:
            self.is_busy = False
            if self.was_stopped:
                self._close_pipes()
        return came

    def stop(self) -> None:
        """End the process; whoever waits for it learns so."""
        self.was_stopped = True
        self._popen.kill()
        self._popen.wait()
        if not self.is_busy:
            self._close_pipes()

    def _close_pipes(self) -> None:
        for pipe in (self._popen.stdin, self._popen.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()


class Run(Generic[T]):
    """Work that has been given to the process; `result` waits for what comes of it."""

    def __init__(self, process: _Process, task: tuple[Any, ...]) -> None:
        self._process, self._task = process, task

    def result(self) -> T:
        """Wait; raises Stopped, SolverEnded, and whatever the function raises that is a CooperageError."""
        went_well, came = self._process.call(pickle.dumps(self._task))
        if not went_well:
            raise _error_of(*came)
        result: T = came
        return result


class OwnProcess:
    """A process of one's own to work in: one run at a time, the newest first. To be used from one thread."""

    def __init__(self) -> None:
        self._process: _Process | None = None

    @property
    def pid(self) -> int | None:
        """The process as it is now, None when there is none."""
        return self._process.pid if self._process else None

    def warm(self) -> None:
        """Begin the process, so that the first run need not wait for it."""
        self._ready()

    def begin(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> Run[T]:
        """Give a module's function to the process, at once; what runs there already is stopped. Raises SolverEnded."""
        self.stop()
        process = self._ready()
        process.is_busy = True
        return Run(process, (work, args, kwargs))

    def run(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Begin, and wait for the result."""
        return self.begin(work, *args, **kwargs).result()

    def _ready(self) -> _Process:
        if self._process is None or self._process.has_ended:
            self._process = _Process()
        return self._process

    def stop(self) -> bool:
        """Stop what runs there, and begin another process for the next run; return whether anything ran."""
        if self._process is None or not self._process.is_busy:
            return False
        self._process.stop()
        self._ready()
        return True

    def close(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.stop()
        self._process = None


# --- over there -----------------------------------------------------------------------------------------------------


def serve() -> None:
    """Do what comes in on standard input, one after the other, and write what came of it to standard output."""
    answers = os.fdopen(os.dup(1), "wb")
    _nothing_else_is_printed()
    tasks: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, tasks), daemon=True).start()
    import cooperage.blending.others  # noqa: F401 - with all that a solve needs, before the first is asked for

    while True:
        came = _done(*tasks.get())
        answers.write(pickle.dumps(came))
        answers.flush()


def _nothing_else_is_printed() -> None:
    """Turn what the solver prints below Python away from the answers."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.close(nothing)


def _listen(source: BinaryIO, tasks: "queue.SimpleQueue[Any]") -> None:
    """Hand tasks on; when the program this belongs to is gone, so is this, even in the midst of a solve."""
    with suppress(*_BROKEN):
        while True:
            tasks.put(pickle.load(source))
    os._exit(0)


def _done(work: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]) -> tuple[bool, Any]:
    try:
        return True, work(*args, **kwargs)
    except CooperageError as error:
        return False, (type(error), error.args, vars(error))


def _error_of(kind: type[CooperageError], args: tuple[Any, ...], state: dict[str, Any]) -> CooperageError:
    """Make an error again as it was raised: its own constructor asks for more than it keeps."""
    error = kind.__new__(kind, *args)
    vars(error).update(state)
    return error
