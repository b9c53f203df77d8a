"""The last filter of every drawn line: control characters are shown as visible marks.

Old books may hold texts that are refused today, and a box shows whatever is pasted into it. No screen has to care: a
line that holds such a character is drawn with marks in its place, cut to the width it had.
"""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from cooperage.plaintext import visible


class PlainLines(LineFilter):
    """Shows as marks the characters that a terminal would obey."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - Textual's
        """Return the segments of a line as they can be shown, as wide as they were."""
        texts = [visible(segment.text) for segment in segments]
        if all(text == segment.text for text, segment in zip(texts, segments, strict=True)):
            return segments
        width = sum(segment.cell_length for segment in segments)
        plain = [Segment(text, segment.style) for text, segment in zip(texts, segments, strict=True)]
        return Segment.adjust_line_length(plain, width)
