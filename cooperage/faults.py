"""What happens when the program itself is at fault: the details go to a file, the person gets one line."""

import traceback
from datetime import UTC, datetime
from pathlib import Path
from tempfile import gettempdir

from cooperage.errors import CooperageError


class ProgramFault(CooperageError):
    """A fault of ours, not of the person's; `report` is the file that holds what happened."""

    exit_status = 70  # EX_SOFTWARE of sysexits.h

    def __init__(self, cause: BaseException) -> None:
        self.report = _write_report(cause)
        super().__init__(
            f"something went wrong that is our fault ({type(cause).__name__}); what was written before is safe. "
            f"The details are in {self.report}"
        )


def _write_report(cause: BaseException) -> Path:
    report = "".join(traceback.format_exception(cause))
    name = f"fault-{datetime.now(UTC):%Y%m%dT%H%M%S%f}.txt"
    for folder in _folders():
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(report, encoding="utf-8")
        except OSError:
            continue
        return folder / name
    return Path("no file: nothing can be written here")


def _folders() -> list[Path]:
    from platformdirs import user_log_path

    return [user_log_path("cooperage"), Path(gettempdir())]
