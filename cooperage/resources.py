"""Where the files shipped beside the code are: in the checkout, or inside the installed wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).parent


def _shipped(name: str) -> Path:
    installed = _PACKAGE / "_shipped" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def migrations_folder() -> Path:
    """Return the folder of Alembic migrations."""
    return _shipped("migrations")


def demo_folder() -> Path:
    """Return the folder of the demo cellar's CSV files."""
    return _shipped("demo_cellar")
