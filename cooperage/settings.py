"""The person's settings: units, name, colours and cellar, in one small TOML file of flat keys."""

import json
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Units, UnknownChoice

UNIT_KEYS = tuple(unit.name for unit in fields(Units))
TEXT_KEYS = ("hand", "theme", "cellar")
KEYS = (*UNIT_KEYS, *TEXT_KEYS)


class BadSettings(BadInput):
    """The settings file cannot be read or written, or one of its keys is wrong."""

    def __init__(self, path: Path, why: str, key: str | None = None) -> None:
        self.path, self.key = path, key
        super().__init__(f"settings {path}: {why}")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a person chose once; `hand` signs their entries. An empty `hand` or `theme` is not chosen."""

    units: Units = DEFAULT
    hand: str = ""
    theme: str = ""
    cellar: str | None = None


def settings_path(environ: Mapping[str, str]) -> Path:
    """Return the settings file: COOPERAGE_CONFIG, else `settings.toml` in the user's configuration folder."""
    if given := environ.get("COOPERAGE_CONFIG"):
        return Path(given).expanduser()
    from platformdirs import user_config_dir  # keeps start-up light

    return Path(user_config_dir("cooperage")) / "settings.toml"


def load_settings(environ: Mapping[str, str]) -> Settings:
    """Return the settings on file; the defaults when there is no file. Raises: BadSettings."""
    path = settings_path(environ)
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings()
    except OSError as error:
        raise BadSettings(path, f"cannot be read ({error.strerror})") from error
    except ValueError as error:  # neither UTF-8 nor TOML
        raise BadSettings(path, f"is not TOML text ({error}); correct or remove the file") from error
    return _settings(path, written)


def _settings(path: Path, written: Mapping[str, object]) -> Settings:
    texts: dict[str, str] = {}
    for key, value in written.items():
        if key not in KEYS:
            raise BadSettings(path, f"there is no setting '{key}'; there are {', '.join(KEYS)}", key)
        if not isinstance(value, str):
            raise BadSettings(path, f'{key} must be text in quotes: {key} = "..."', key)
        texts[key] = value
    try:
        units = Units(**{key: texts.pop(key) for key in UNIT_KEYS if key in texts})
    except UnknownChoice as error:
        raise BadSettings(path, str(error), error.key) from error
    return Settings(units, **texts)


def save_settings(settings: Settings, environ: Mapping[str, str]) -> Path:
    """Write the settings file, making its folder, and return its path. Raises: BadSettings."""
    path = settings_path(environ)
    values = asdict(settings.units) | {key: getattr(settings, key) for key in TEXT_KEYS}
    lines = [f"{key} = {_quoted(value)}\n" for key, value in values.items() if value is not None]
    try:
        content = "".join(lines).encode("utf-8")
        path.parent.mkdir(parents=True, exist_ok=True)
        half_done = path.with_name(path.name + ".new")
        half_done.write_bytes(content)
        half_done.replace(path)  # all or nothing, should the power fail
    except (OSError, UnicodeEncodeError) as error:
        raise BadSettings(path, f"cannot be written ({error})") from error
    return path


def _quoted(text: str) -> str:
    """Return a TOML basic string: JSON's escapes are TOML's, but for DEL, which TOML wants escaped too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
