"""Keep a library's own printing out of standard output, where scripts read JSON.

HiGHS 1.12 prints a line when it repairs an integer plan, whatever its options are, and does so below Python.
"""

import ctypes
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

STDOUT = 1


class _SilencedStdout:
    """Standard output turned away while at least one thread asks for it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._depth = 0
        self._kept: int | None = None

    def enter(self) -> None:
        with self._lock:
            self._depth += 1
            if self._depth == 1:
                self._kept = _turn_away()

    def leave(self) -> None:
        with self._lock:
            self._depth -= 1
            if self._depth == 0 and self._kept is not None:
                _flush()
                os.dup2(self._kept, STDOUT)
                os.close(self._kept)
                self._kept = None


def _turn_away() -> int | None:
    """Point standard output at nothing; return where it pointed, or None if it is closed."""
    _flush()
    try:
        kept = os.dup(STDOUT)
    except OSError:
        return None
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, STDOUT)
    os.close(nothing)
    return kept


def _flush() -> None:
    """Write out what the C library holds back, so that it goes where standard output points now."""
    with suppress(OSError, AttributeError, TypeError):  # a platform whose C library cannot be reached this way
        ctypes.CDLL(None).fflush(None)


_SILENCED = _SilencedStdout()


@contextmanager
def silenced_stdout() -> Iterator[None]:
    """Turn standard output away while the block runs; what other threads print meanwhile is lost too."""
    _SILENCED.enter()
    try:
        yield
    finally:
        _SILENCED.leave()
