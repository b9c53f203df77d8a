"""Plain words: mannered ones are no names of the code, and not in its prose."""

import ast
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1] / "cooperage"
MANNERED = re.compile(
    r"\b(?:told|tells?|telling|says?|saying|hears?|heard|spoken|speaks?|anew|hush(?:ed)?|sift(?:s|ed|ing)?|thirst|drunk|"
    r"drank|drinks?|reckon(?:s|ed|er|ing)?|nobody|somebody|for the eye|by some hand|lets? go of|accord)\b",
    re.IGNORECASE,
)
IN_WORDS = re.compile(r"\bin words\b", re.IGNORECASE)
"""Of prose alone: in code it may be a search in what was typed."""
ROOMS = (".", "book", "programme", "blending", "tasting", "exchange", "liquid", "cli", "tui")
NAMES = {"said", "reckoned", "ReckonedRow"}
"""Names that stand in the database or in JSON, and so stay."""
KEPT = re.compile(r'INTO reckoned|^ *"reckoned",$|"thirst"|"--anew"')
"""Where such names stand: a table, a kind of sign in JSON, an old spelling of an option."""


def _files(room: Any) -> Any:
    return sorted((ROOT / room).glob("*.py") if room == "." else (ROOT / room).rglob("*.py"))


def _prose(file: Path) -> Iterator[tuple[int, str]]:
    """Yield each comment and string of a file, docstrings too, with its line."""
    with file.open("rb") as source:
        for token in tokenize.tokenize(source.readline):
            if token.type in (tokenize.COMMENT, tokenize.STRING):
                yield token.start[0], token.string


def _mannered(file: Path) -> list[str]:
    lines = enumerate(file.read_text().splitlines(), 1)
    found = [(number, line.strip()) for number, line in lines if MANNERED.search(KEPT.sub("", line))]
    found += [(number, text) for number, text in _prose(file) if IN_WORDS.search(text)]
    return [f"{file.parent.name}/{file.name}:{number}: {text}" for number, text in found]


@pytest.mark.parametrize("room", ROOMS)
def test_no_line_is_mannered(room: Any) -> None:
    found = [line for file in _files(room) for line in _mannered(file)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "line", ["# nobody reads it", 'say = "told anew"', "def thirst() -> None: ...", '"""A place, in words."""']
)
def test_a_mannered_line_is_found(line: str, tmp_path: Path) -> None:
    file = tmp_path / "one"
    file.write_text(f"{line}\n")
    assert _mannered(file)


@pytest.mark.parametrize("room", ROOMS)
def test_no_function_or_class_has_a_mannered_name(room: Any) -> None:
    kinds = ast.FunctionDef | ast.ClassDef
    nodes = [node for file in _files(room) for node in ast.walk(ast.parse(file.read_text())) if isinstance(node, kinds)]
    words = {node.name: re.sub(r"_|(?<=[a-z])(?=[A-Z])", " ", node.name) for node in nodes}
    assert not {name for name, spaced in words.items() if MANNERED.search(spaced)} - NAMES
