"""Briefs saved: a mapping as a TOML file that `load_brief` reads back."""

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cooperage.outfile import new_file

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def save_brief(path: Path, brief: Mapping[str, Any], *, force: bool = False) -> None:
    """Write a brief as a TOML file that `load_brief` reads back; raises what `new_file` does."""
    with new_file(path, force=force) as half_done:
        half_done.write_text(toml_of(brief), encoding="utf-8")


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
