"""What reaches the terminal is plain: the two streams of a command, with every control character in them spelt out.

Old books may hold texts that no door takes today, an argument or a file may hold anything, and both are shown in tables
and errors. Here is the one place that all of it passes, click's own messages too.
"""

import codecs
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from io import TextIOBase, UnsupportedOperation
from typing import Any, TextIO

from cooperage.plaintext import visible


class PlainStream:
    """A text stream that writes what can be seen; line feeds are left as they are, all else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    @property
    def encoding(self) -> str | None:
        """The stream's encoding; but ASCII is not named, or click would write past this stream to mend it."""
        text: str | None = self._stream.encoding
        return "utf-8" if text is not None and codecs.lookup(text).name == "ascii" else text

    def write(self, text: str) -> int:
        """Write a text with its control characters spelt out."""
        self._stream.write(visible(text, lines=True))
        return len(text)

    def writelines(self, texts: Any) -> None:  # noqa: ANN401 - as its root has it
        """Write several texts."""
        for text in texts:
            self.write(text)

    def fileno(self) -> int:
        """Return the file's number; on Windows none, lest click write to the console itself, past this stream."""
        if sys.platform == "win32":
            raise UnsupportedOperation("fileno")
        return self._stream.fileno()

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the stream has
        return getattr(self._stream, name)


@contextmanager
def plain_output() -> Iterator[None]:
    """Send everything printed through plain streams."""
    kept = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = (_plain(stream) for stream in kept)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = kept


def _plain(stream: TextIO) -> Any:  # noqa: ANN401 - a stream, for all that matters
    return PlainStream(stream) if isinstance(stream, TextIOBase) else stream  # None in a program without a console
