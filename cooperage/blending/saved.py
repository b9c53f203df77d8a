"""Briefs on file: TOML in and out."""

import json
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cooperage.blending.brief import read_brief
from cooperage.errors import BadInput

_BARE = re.compile(r"[A-Za-z0-9_-]+")


class BriefFileUnusable(BadInput):
    """A brief's file that cannot be read or written."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        super().__init__(f"the brief {path} {why}")


def load_brief(path: Path) -> dict[str, Any]:
    """Read a brief from a TOML file as a mapping, every key checked; raises BriefFileUnusable, BadBrief."""
    try:
        brief = tomllib.loads(path.expanduser().read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise BriefFileUnusable(path, f"cannot be read: {(error.strerror or '').lower()}") from error
    except ValueError as error:  # not TOML, or not UTF-8
        raise BriefFileUnusable(path, f"is not a TOML file: {error}") from error
    read_brief(brief)
    return brief


def save_brief(path: Path, brief: Mapping[str, Any]) -> None:
    """Write a brief as a TOML file that `load_brief` reads back; raises BriefFileUnusable."""
    try:
        path.expanduser().write_text(toml_of(brief), encoding="utf-8")
    except OSError as error:
        raise BriefFileUnusable(path, f"cannot be written: {(error.strerror or '').lower()}") from error


def toml_of(brief: Mapping[str, Any]) -> str:
    """Write a brief as TOML: plain keys first, then a table each for limits, share and draws."""
    tables = {key: value for key, value in brief.items() if isinstance(value, Mapping) and key != "litres"}
    lines = [f"{key} = {_value(value)}" for key, value in brief.items() if key not in tables]
    for key, table in tables.items():
        lines += [f"[{key}]", *(f"{_key(name)} = {_value(value)}" for name, value in table.items())]
    return "\n".join(lines) + "\n"


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _value(value: Any) -> str:  # noqa: ANN401 - what a brief holds: numbers, text, lists, one level of tables
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{_key(name)} = {_value(part)}' for name, part in value.items())} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(part) for part in value)}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False)
