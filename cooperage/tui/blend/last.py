"""The brief a person worked on last in a cellar, kept beside their settings, so that the screen opens on it."""

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

from cooperage.blending.brief.brief import read_brief
from cooperage.errors import CooperageError
from cooperage.settings import settings_path

FOLDER = "briefs"
_BROKEN = (OSError, ValueError, KeyError, TypeError, AttributeError, CooperageError)


@dataclass(frozen=True, slots=True)
class LastBrief:
    """A brief, and the path of the file it was opened from or saved to ("" for none)."""

    brief: Mapping[str, Any]
    path: str = ""


def last_brief_path(cellar: str, hand: str) -> Path:
    """Return where the last brief of a person in a cellar is kept."""
    name = blake2b(f"{cellar}\n{hand}".encode(), digest_size=8).hexdigest()
    return settings_path(os.environ).parent / FOLDER / f"last-{name}.json"


def load_last(path: Path) -> LastBrief | None:
    """Return the brief that was kept; None where there is none, or it is no brief any more."""
    with suppress(*_BROKEN):
        kept = json.loads(path.read_bytes())
        read_brief(kept["brief"])
        return LastBrief(kept["brief"], str(kept["path"]))
    return None


def keep_last(path: Path, last: LastBrief) -> None:
    """Keep a brief in the place of the one before it; a folder that cannot be written keeps none."""
    with suppress(OSError, ValueError):
        path.parent.mkdir(parents=True, exist_ok=True)
        half_done = path.with_name(f"{path.name}.{os.getpid()}.new")
        half_done.write_bytes(json.dumps({"brief": last.brief, "path": last.path}).encode())
        half_done.replace(path)
