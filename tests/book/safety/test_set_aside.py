"""Where a damaged cellar is put: under a name that nothing bears yet, not even a log that was left behind."""

from datetime import date
from pathlib import Path

import pytest

from cooperage.book.safety.set_aside import free_name
from cooperage.book.store.sqlite_file import BESIDE, companion_file


@pytest.mark.parametrize("suffix", ["", *BESIDE])
def test_a_name_is_free_when_nothing_bears_it(suffix: str, tmp_path: Path) -> None:
    """A file, or any one thing that SQLite keeps beside one, takes the name: a stranger's log is never joined."""
    place = tmp_path / "cellar.db"
    first = free_name(place, "damaged")
    assert first.name.startswith("cellar.db.damaged-")
    assert first.name.endswith("-1")
    assert date.fromisoformat(first.name.removeprefix("cellar.db.damaged-").removesuffix("-1"))
    companion_file(first, suffix).write_bytes(b"left behind")
    second = free_name(place, "damaged")
    assert second.name == f"{first.name.removesuffix('1')}2"
