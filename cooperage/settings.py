"""The person's settings: units, name, colours and cellar, in one small TOML file of flat keys."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cooperage.errors import BadInput, choose_from, did_you_mean
from cooperage.infile import NotToml, TooLong, at_home, read_toml
from cooperage.plaintext import refuse_controls
from cooperage.units import CHOICES, DEFAULT, Units, UnknownChoice

UNIT_KEYS = tuple(CHOICES)
TEXT_KEYS = ("hand", "theme", "marks", "cellar")
KEYS = (*UNIT_KEYS, *TEXT_KEYS)
NAME = "settings.toml"
_LIKE_OURS = re.compile(r"[^.].*\.toml(\.txt)?|(settings|config)\.(txt|ini|cfg|conf|json|ya?ml)", re.IGNORECASE)
_BARE = re.compile(r"\s*([a-z]+)\s*=\s*([^\W\d][\w %/.-]{0,39}?)\s*(?:#.*)?")
_SHOWN, _LONGEST = 40, 300


class BadSettings(BadInput):
    """The settings file cannot be read or written, or one of its keys is wrong."""

    def __init__(self, path: Path, why: str, key: str | None = None) -> None:
        self.path, self.key = path, key
        line = " ".join(why.split())  # a text in the file may hold line breaks, and be of any length
        super().__init__(f"settings {path}: {line if len(line) <= _LONGEST else line[:_LONGEST] + '…'}")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a person chose once; `hand` signs their entries. An empty `hand`, `theme` or `marks` is not chosen.

    `marks` is "ascii" for a terminal that lacks the marks, or draws them two columns wide.
    """

    units: Units = DEFAULT
    hand: str = ""
    theme: str = ""
    marks: str = ""
    cellar: str | None = None

    def in_currency(self, currency: str) -> "Settings":
        """Return them with the currency of a cellar, in which its sums are shown and read."""
        if currency == self.units.currency:
            return self
        return replace(self, units=replace(self.units, currency=currency))


def settings_path(environ: Mapping[str, str]) -> Path:
    """Return the settings file: COOPERAGE_CONFIG, else `settings.toml` in the user's configuration folder."""
    if given := environ.get("COOPERAGE_CONFIG"):
        return at_home(Path(given))
    from platformdirs import user_config_dir  # keeps start-up light

    return Path(user_config_dir("cooperage")) / NAME


_OURS = "COOPERAGE_"
_VARIABLES = ("CACHE", "CELLAR", "CONFIG")


def not_read(environ: Mapping[str, str]) -> list[str]:
    """Name, a line each, what looks like a setting and is not read.

    Those are a misspelt variable, a file that COOPERAGE_CONFIG names and is not there, and files in the user's
    configuration folder; beside a file that COOPERAGE_CONFIG names anything may lie, so nothing is named there.
    """
    return [*_variables_not_read(environ), *_files_not_read(environ)]


def _variables_not_read(environ: Mapping[str, str]) -> Iterator[str]:
    for name in sorted(environ):
        known = name.removeprefix(_OURS)
        if name.startswith(_OURS) and known not in _VARIABLES and (near := did_you_mean(known, _VARIABLES)):
            yield f"{name} is not read{near.replace('mean ', f'mean {_OURS}')}"


def _files_not_read(environ: Mapping[str, str]) -> list[str]:
    path = settings_path(environ)
    if environ.get("COOPERAGE_CONFIG"):
        missing = f"COOPERAGE_CONFIG names {path}, which is not there; the usual settings are used"
        return [] if path.exists() else [missing]
    folder = path.parent
    try:
        names = sorted(path.name for path in folder.iterdir())
    except OSError:  # none there, or none that may be read
        return []
    strays = [name for name in names if name != NAME and _LIKE_OURS.fullmatch(name)]
    return [f"{folder / name} is not read; settings belong in {NAME} in the same folder" for name in strays]


def load_settings(environ: Mapping[str, str]) -> Settings:
    """Return the settings on file; the defaults when there is no file. Raises: BadSettings."""
    path = settings_path(environ)
    try:
        if not path.exists():
            return Settings()
        if not path.is_file():
            raise BadSettings(path, "cannot be read (it is no ordinary file)")
        written = read_toml(path)
    except OSError as error:
        raise BadSettings(path, f"cannot be read ({error.strerror})") from error
    except TooLong as error:
        raise BadSettings(path, "is too long for a settings file; correct or remove it") from error
    except NotToml as error:
        if bare := _without_quotes(path):
            raise BadSettings(
                path, f'put the value of {bare[0]} in quotes: {bare[0]} = "{bare[1]}"', bare[0]
            ) from error
        raise BadSettings(path, f"is not TOML text ({error}); correct or remove the file") from error
    return _settings(path, written)


def _without_quotes(path: Path) -> tuple[str, str] | None:
    """Return the first setting, and its value, that is a bare word in a file of a few lines; None if none is."""
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        found = _BARE.fullmatch(line)
        if found and found[1] in KEYS and found[2] not in ("true", "false", "inf", "nan"):
            return found[1], found[2]
    return None


def _settings(path: Path, written: Mapping[str, object]) -> Settings:
    texts: dict[str, str] = {}
    for key, value in written.items():
        if key not in KEYS:
            raise BadSettings(path, f"there is no setting {_short(key)}{choose_from(key, KEYS)}", key)
        if not isinstance(value, str):
            raise BadSettings(path, f'{key} must be text in quotes: {key} = "..."', key)
        if key in TEXT_KEYS:
            _refuse_controls(path, key, value)
        texts[key] = value
    try:
        units = Units(**{key: texts.pop(key) for key in UNIT_KEYS if key in texts})
    except UnknownChoice as error:
        raise BadSettings(path, str(error), error.key) from error
    return Settings(units, **texts)


def _refuse_controls(path: Path, key: str, text: str) -> None:
    try:
        refuse_controls(text, key)
    except BadInput as error:
        raise BadSettings(path, str(error), key) from error


def save_settings(settings: Settings, environ: Mapping[str, str]) -> Path:
    """Write the settings file, making its folder, and return its path. Raises: BadSettings.

    Comments of a file that is there, and the order of its lines, stay; of what it does not have, only what is not
    usual is added.
    """
    path = settings_path(environ)
    values = _unit_values(settings.units) | {key: getattr(settings, key) for key in TEXT_KEYS}
    for key in TEXT_KEYS:
        _refuse_controls(path, key, values[key] or "")
    try:
        content = _with_values(_on_file(path), values).encode("utf-8")
        path.parent.mkdir(parents=True, exist_ok=True)
        half_done = path.with_name(path.name + ".new")
        half_done.write_bytes(content)
        half_done.replace(path)  # all or nothing, should the power fail
    except (OSError, UnicodeEncodeError) as error:
        raise BadSettings(path, f"cannot be written ({error})") from error
    return path


def _unit_values(units: Units) -> dict[str, str | None]:
    """Return the units that a person chose; the currency is the cellar's."""
    return {key: getattr(units, key) for key in UNIT_KEYS}


_MOST_BYTES = 1_000_000
_USUAL: dict[str, Any] = {key: getattr(DEFAULT, key) for key in UNIT_KEYS} | {"hand": "", "theme": "", "marks": ""}
"""What each setting is where the file does not have it; a cellar has no such place."""
_LINE = re.compile(r"""(\s*([a-z]+)\s*=\s*)("(?:[^"\\\n]|\\.)*"|'[^'\n]*')(\s*(?:#.*)?)""")
"""A line of one setting: what stands before its value, its key, the value, a comment."""


def _on_file(path: Path) -> str:
    """Return the text whose lines are to be kept; none where the file is no text, or is too long to be ours."""
    try:
        return path.read_text(encoding="utf-8-sig") if path.is_file() and path.stat().st_size <= _MOST_BYTES else ""
    except UnicodeDecodeError:
        return ""


def _with_values(text: str, values: Mapping[str, str | None]) -> str:
    """Return the text of a settings file with these values; where lines cannot be kept, all of it is written new."""
    import tomllib

    wanted = {key: value for key, value in values.items() if value is not None}
    kept = "".join([*_changed_lines(text, wanted), *_added_lines(text, wanted)])
    try:
        if _USUAL | tomllib.loads(kept) == _USUAL | wanted:
            return kept
    except ValueError:
        pass
    return "".join(f"{key} = {_quoted(value)}\n" for key, value in wanted.items())


def _changed_lines(text: str, wanted: Mapping[str, str]) -> Iterator[str]:
    for line in text.splitlines():
        found = _LINE.fullmatch(line)
        if found is None:
            yield f"{line}\n"
        elif found[2] in wanted:
            yield f"{found[1]}{_quoted(wanted[found[2]])}{found[4]}\n"


def _added_lines(text: str, wanted: Mapping[str, str]) -> Iterator[str]:
    there = {found[2] for line in text.splitlines() if (found := _LINE.fullmatch(line))}
    for key, value in wanted.items():
        if key not in there and (not text.strip() or value != _USUAL.get(key)):
            yield f"{key} = {_quoted(value)}\n"


def _short(key: str) -> str:
    """Return a key as a message shows it: in one line, however long it is."""
    return repr(key if len(key) <= _SHOWN else f"{key[:_SHOWN]}…")


def _quoted(text: str) -> str:
    """Return a TOML basic string: JSON's escapes are TOML's, but for DEL, which TOML wants escaped too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
