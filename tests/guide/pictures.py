"""The README's pictures: screens of the demo on the morning of the guide, drawn as small SVG files.

    python -m tests.guide.pictures            # all of them, into cooperage/guide/pictures/
    python -m tests.guide.pictures rounds     # one

Each is drawn from the cells of the terminal: text in whatever monospaced font is there, nothing fetched from anywhere.
"""

import asyncio
import sys
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import pytest
from click.testing import CliRunner
from rich.segment import Segment
from rich.style import Style
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.cli import main as cooperage
from cooperage.guide.pages import FOLDER
from cooperage.resources import demo_folder
from cooperage.settings import Settings
from cooperage.tui.app import CooperageApp
from cooperage.tui.blend.last import LastBrief, keep_last, last_brief_path
from tests.guide.morning import fixed_morning
from tests.tui.conftest import settle

PICTURES = FOLDER / "pictures"
HAND, BRIEF = "Maren", demo_folder() / "briefs" / "winter_bottling.toml"
CELL, LINE, FONT_SIZE, MARGIN = 8.4, 17, 14, 10
FONTS = "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, 'Liberation Mono', monospace"
MOST_LOOKS = 300


@dataclass(frozen=True, slots=True)
class Scene:
    """What a picture shows: a screen, in how many columns and rows, after some keys; a longer text is typed."""

    name: str
    page: str
    keys: Sequence[str] = ()
    size: tuple[int, int] = (80, 24)


SCENES = (
    Scene("today", "today"),
    Scene("rounds", "rounds", ("0.8; so2 12 ph 3.26; weeping",)),
    Scene("racks", "racks", ("down",)),
    Scene("barrel", "barrel"),
    Scene("blend", "blend", size=(140, 40)),
)


async def drawn(book: Book, scene: Scene) -> str:
    """Return the picture of a scene."""
    app = CooperageApp(book, Settings(hand=HAND, theme="dark"))
    app.desk.tag = "B-028"
    async with app.run_test(size=scene.size) as pilot:
        if app.current_mode != scene.page:
            await app.switch_mode(scene.page)
        await _quiet(pilot)
        for key in scene.keys:
            for each in [key] if key in _NAMED else key:
                await pilot.press(_WRITTEN.get(each, each))
            await _quiet(pilot)
        rows = [list(strip) for strip in app.screen._compositor.render_strips()]
        ground, text = app.theme_variables["soot"], app.theme_variables["ink"]
    return picture(rows, scene, ground, text)


_NAMED = {"down", "up", "left", "right", "enter", "escape", "tab"}
_WRITTEN = {" ": "space", ".": "full_stop", ";": "semicolon", ",": "comma", "-": "minus", "+": "plus", "/": "slash"}


async def _quiet(pilot: Pilot[Any]) -> None:
    """Wait until nothing is being calculated, and no plan sought."""
    for _ in range(MOST_LOOKS):
        await settle(pilot)
        if not getattr(pilot.app.screen, "is_waiting", False):
            break
        await pilot.pause(0.1)
    await settle(pilot)


def picture(rows: Sequence[Sequence[Segment]], scene: Scene, ground: str, text: str) -> str:
    """Draw the cells of a terminal; `ground` and `text` are the colours of a cell that has none."""
    wide, high = scene.size[0] * CELL + 2 * MARGIN, scene.size[1] * LINE + 2 * MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" role="img">',
        f"<title>Cooperage: {escape(scene.name)}</title>",
        f'<rect width="100%" height="100%" rx="6" fill="{ground}"/>',
        f'<g font-family="{FONTS}" font-size="{FONT_SIZE}" fill="{text}" xml:space="preserve">',
    ]
    for row, segments in enumerate(rows):
        parts += _row(segments, MARGIN + row * LINE, ground, text)
    return "\n".join([*parts, "</g>", "</svg>", ""])


def _row(segments: Sequence[Segment], top: float, ground: str, ink: str) -> Iterator[str]:
    """Draw one row: the grounds first, then the texts over them."""
    texts, column = [], 0
    for words, width, fore, back, bold in _runs(segments, ground, ink):
        left = MARGIN + column * CELL
        if back != ground:
            yield f'<rect x="{left:g}" y="{top:g}" width="{width * CELL:g}" height="{LINE}" fill="{back}"/>'
        if words.strip():
            lead = len(words) - len(words.lstrip())
            shown = words.strip()
            look = ("" if fore == ink else f' fill="{fore}"') + (' font-weight="bold"' if bold else "")
            length = f' textLength="{(width - (len(words) - len(shown))) * CELL:g}"' if len(shown) > 1 else ""
            texts.append(
                f'<text x="{left + lead * CELL:g}" y="{top + 0.76 * LINE:g}"{length}{look}>{escape(shown)}</text>'
            )
        column += width
    yield from texts


Run = tuple[str, int, str, str, bool]


def _runs(segments: Sequence[Segment], ground: str, ink: str) -> list[Run]:
    """Join neighbours that look alike: (text, cells, colour, ground, bold)."""
    runs: list[Run] = []
    for segment in segments:
        fore, back, bold = _look(segment.style, ground, ink)
        words = segment.text
        if runs and (runs[-1][2:] == (fore, back, bold) or (not words.strip() and runs[-1][3] == back)):
            before = runs.pop()
            runs.append((before[0] + words, before[1] + segment.cell_length, before[2], back, before[4]))
        else:
            runs.append((words, segment.cell_length, fore, back, bold))
    return runs


def _look(style: Style | None, ground: str, ink: str) -> tuple[str, str, bool]:
    fore = style.color.get_truecolor().hex if style and style.color and not style.color.is_default else ink
    back = style.bgcolor.get_truecolor().hex if style and style.bgcolor and not style.bgcolor.is_default else ground
    if style and style.reverse:
        fore, back = back, fore
    return fore, back, bool(style and style.bold)


def draw(names: Sequence[str], into: Path) -> list[str]:
    """Draw the scenes of these names, or all, into a folder; return what went wrong, a line each."""
    wrong = []
    with tempfile.TemporaryDirectory() as folder, fixed_morning(), pytest.MonkeyPatch.context() as patched:
        patched.setenv("COOPERAGE_CONFIG", str(Path(folder) / "settings.toml"))
        patched.setenv("COOPERAGE_CACHE", str(Path(folder) / "kept"))
        patched.setenv("TERM", "xterm-256color")
        patched.setenv("COLORTERM", "truecolor")
        patched.delenv("NO_COLOR", raising=False)
        patched.setattr("cooperage.tui.key_queue.SCAN_GAP_S", 0.0)
        cellar = Path(folder) / "demo.db"
        built = CliRunner().invoke(cooperage, ["demo", "--no-ui", "--path", str(cellar)])
        assert built.exit_code == 0, built.output
        keep_last(last_brief_path(str(cellar.resolve()), HAND), LastBrief(tomllib.loads(BRIEF.read_text("utf-8"))))
        for scene in (scene for scene in SCENES if not names or scene.name in names):
            book = Book.open(str(cellar))
            try:
                svg = asyncio.run(drawn(book, scene))
            except Exception as error:  # noqa: BLE001 - the other pictures are drawn all the same
                wrong.append(f"{scene.name}: {type(error).__name__}: {error}")
            else:
                (into / f"{scene.name}.svg").write_text(svg, encoding="utf-8")
            finally:
                book.close()
    return wrong


def main(names: Sequence[str]) -> int:
    """Draw the pictures of these names, or all; return the exit status."""
    unknown = sorted(set(names) - {scene.name for scene in SCENES})
    wrong = [f"no picture is named {name}" for name in unknown] or draw(names, PICTURES)
    print(*wrong, sep="\n", end="\n" if wrong else "", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
