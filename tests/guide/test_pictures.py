"""The README's pictures: small, legible in any font, fetching nothing; and the program that draws them."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from cooperage.tui.themes import DARK
from tests.guide.pictures import PICTURES, SCENES, draw, main

README = Path(__file__).parents[2] / "README.md"
MOST_BYTES = 40_000


def test_the_readme_shows_pictures_that_are_there_and_each_is_of_a_scene() -> None:
    """Three to five, with words for whoever cannot see them."""
    shown = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", README.read_text(encoding="utf-8"))
    assert 3 <= len(shown) <= 5
    for words, path in shown:
        assert len(words.split()) > 4
        assert (README.parent / path).is_file()
    drawn = {path.stem for path in PICTURES.glob("*")}
    assert {Path(path).stem for _, path in shown} <= drawn == {scene.name for scene in SCENES}


@pytest.mark.parametrize("path", sorted(PICTURES.glob("*.svg")), ids=lambda path: path.stem)
def test_a_picture_is_small_and_fetches_nothing(path: Path) -> None:
    """No font, no style, no address but that of SVG itself; every text is as wide as its cells."""
    text = path.read_text(encoding="utf-8")
    assert len(text.encode()) < MOST_BYTES
    assert not re.search(r"url\(|@import|font-face|<style|href", text)
    assert re.findall(r"https?://[^\"]+", text) == ["http://www.w3.org/2000/svg"]
    root = ElementTree.fromstring(text)
    texts = [each for each in root.iter() if each.tag.endswith("}text")]
    assert len(texts) > 20
    assert all(each.get("textLength") or len(each.text or "") == 1 for each in texts)
    assert "monospace" in text


@pytest.mark.slow
def test_a_picture_is_drawn_from_the_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its words are those of the screen, and its colours too, whatever terminal it is drawn from."""
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("NO_COLOR", "1")
    assert draw(["today"], tmp_path) == []
    words = " ".join(ElementTree.fromstring((tmp_path / "today.svg").read_text(encoding="utf-8")).itertext())
    assert "B-025" in words
    assert "Maren" in words
    assert DARK.variables["soot"] in (tmp_path / "today.svg").read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["today.svg"]


def test_a_picture_that_is_not_known_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    """And nothing is drawn."""
    assert main(["sunset"]) == 1
    assert "no picture is named sunset" in capsys.readouterr().err
