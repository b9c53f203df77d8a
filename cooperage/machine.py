"""The one place that knows on what system this runs; whatever only some of them have is asked for here."""

import codecs
import errno
import os
import subprocess
import sys
import threading
import time
from io import TextIOWrapper
from typing import Any

try:
    import termios
except ImportError:  # Windows has none
    termios = None  # type: ignore[assignment]

_HUNG_UP = 129
"""The exit status of a program that the hanging up of its terminal ends."""


def detached_process_options() -> dict[str, Any]:
    """Return how `subprocess.Popen` starts a process that keys pressed in the terminal do not reach."""
    if os.name == "posix":
        return {"start_new_session": True}
    return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}


def use_utf8_output() -> None:
    """Make every letter printable: a file or a pipe gets UTF-8, which is what an import reads.

    On a terminal that cannot show a letter, a question mark stands for it.
    """
    for stream in (sys.stdout, sys.stderr):
        if not isinstance(stream, TextIOWrapper) or codecs.lookup(stream.encoding).name == "utf-8":
            continue
        if stream.isatty():
            stream.reconfigure(errors="replace")
        else:
            stream.reconfigure(encoding="utf-8")


def terminal_is_gone() -> bool:
    """Return True if the terminal that keys come from has hung up, so that no more can be typed."""
    if termios is None or sys.__stdin__ is None:
        return False
    try:
        termios.tcgetattr(sys.__stdin__.fileno())
    except termios.error as error:
        return bool(error.args[0] == errno.EIO)
    except (OSError, ValueError):
        return False
    return False


def end_with_terminal(every_s: float) -> None:
    """Look every `every_s` seconds whether the terminal is gone, and end the process with it.

    In a thread of its own: where the hanging up is ignored, a program may be stuck writing to what is no longer
    read, or keep a core busy reading it, and come to no other work.
    """

    def watch() -> None:
        while not terminal_is_gone():
            time.sleep(every_s)
        os._exit(_HUNG_UP)

    threading.Thread(target=watch, name="terminal", daemon=True).start()
