"""Run with faulty.so preloaded: acts in forked children, each with one fault, and what each leaves behind.

Prints one JSON object a trial: what fired, how the act ended, what it told, and what is wrong with what it left.
"""

import ctypes
import gc
import json
import os
import shutil
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

KINDS = {"kill": 1, "tear": 2, "eio": 3, "full": 4}
DONE, REFUSED, BROKE = 0, 3, 4

_lib = ctypes.CDLL(None)
_lib.faulty_name.restype = ctypes.c_char_p


@dataclass
class Trial:
    """One fault and its ending: "killed", "done", "refused" (one line of ours), or what else came of it."""

    kind: str
    n: int
    fired: bool = False
    call: str = ""
    ending: str = ""
    told: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def run(kind: str, n: int, folder: Path, act: Callable[[Callable[[str], None]], None]) -> Trial:
    """Do `act(print_result)` in a child whose n-th change of a file below `folder` meets the fault."""
    _lib.faulty_setup()
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reads)
        _child(kind, n, folder, act, writes)
    os.close(writes)
    with os.fdopen(reads, "rb") as pipe:
        message = pipe.read().decode().splitlines()
    _, status = os.waitpid(child, 0)
    trial = Trial(kind, n, bool(_lib.faulty_fired()), _lib.faulty_name().decode(), told=message)
    trial.ending = _ending(status)
    if trial.ending not in ("killed", "done", "refused"):
        trial.wrong.append(f"ended with {trial.ending}: {message[-1:]}")
    return trial


def _child(kind: str, n: int, folder: Path, act: Callable[[Callable[[str], None]], None], writes: int) -> None:
    from cooperage.errors import CooperageError

    def report(line: str) -> None:
        os.write(writes, f"{line}\n".encode())

    code = BROKE
    try:
        _lib.faulty_arm(KINDS[kind], ctypes.c_long(n), os.fsencode(folder))
        act(report)
        code = DONE
    except CooperageError as error:
        report(f"refused: {error}")
        code = REFUSED
    except BaseException as error:  # noqa: BLE001 - told to the parent, which fails the trial
        report(f"{type(error).__name__}: {error}")
    finally:
        os._exit(code)


def _ending(status: int) -> str:
    if os.WIFSIGNALED(status):
        return "killed" if os.WTERMSIG(status) == signal.SIGKILL else f"signal {os.WTERMSIG(status)}"
    return {DONE: "done", REFUSED: "refused", BROKE: "an exception"}.get(os.WEXITSTATUS(status), "a strange status")


def each_fault(kind: str, every: int, make: Callable[[str, int], Trial]) -> None:
    """Print a trial for every n (or every so many) until one in which no fault fired any more."""
    n = 1
    while True:
        trial = make(kind, n)
        print(json.dumps(trial.__dict__), flush=True)
        if not trial.fired:
            return
        n += every


class World:
    """The files each trial begins with, and what the books in them hold."""

    def __init__(self, template: Path, folder: Path) -> None:
        self.template, self.folder = template, folder
        self.place, self.backup = folder / "cellar" / "cellar.db", folder / "backup" / "backup.db"
        self.ids = {name: frozenset(ids) for name, ids in json.loads((template / "ids.json").read_text()).items()}

    def lay_out(self, scenario: str) -> None:
        """Put the cellar of a scenario and the backup where the act finds them."""
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.copytree(self.template / scenario, self.place.parent)
        shutil.copytree(self.template / "backup", self.backup.parent)

    def holds(self, path: Path) -> tuple[frozenset[str], list[str]]:
        """Return the entries of a cellar, and what its laws find."""
        from cooperage.book import Book
        from cooperage.book.log import entries

        book = Book.open(str(path))
        try:
            with book.reading() as connection:
                ids = frozenset(entry.id for entry in entries(connection))
            return ids, [line for finding in book.check() for line in finding.broken]
        finally:
            book.close()

    def named(self, trial: Trial) -> Path | None:
        """Return the file that the act named first: where the old cellar is."""
        line = next((line for line in trial.told if " as " in line and not line.startswith("refused")), None)
        return None if line is None else Path(line.rpartition(" as ")[2])


def restore_in(world: World) -> Callable[[Callable[[str], None]], None]:
    from cooperage.book.safety.restore import restore

    return lambda tell: restore(world.backup, world.place, tell)


def healthy(world: World, kind: str, n: int) -> Trial:
    """Restore over a cellar with acknowledged entries in its write-ahead log."""
    world.lay_out("healthy")
    trial = run(kind, n, world.folder, restore_in(world))
    judge_leftovers(world, trial)
    ids, broken = world.holds(world.place)
    trial.wrong += broken
    if ids == world.ids["new"]:
        kept = world.named(trial)
        if kept is None or world.holds(kept) != (world.ids["old"], []):
            trial.wrong.append(f"restored, and the old cellar is not whole in {kept}")
    elif ids != world.ids["old"] or trial.ending == "done":
        trial.wrong.append(f"{len(ids)} entries, neither the old cellar's nor the new one's")
    return trial


def damaged(world: World, kind: str, n: int) -> Trial:
    """Restore over a cellar that SQLite cannot read as a whole: it stands under one name, with its log."""
    world.lay_out("damaged")
    before = _bytes(world.place)
    trial = run(kind, n, world.folder, restore_in(world))
    judge_leftovers(world, trial)
    if world.place.exists() and _bytes(world.place) == before:
        if trial.ending == "done":
            trial.wrong.append("said to be restored, and nothing was")
        return trial
    aside = world.named(trial)
    if aside is None or _bytes(aside) != before:
        trial.wrong.append(f"the damaged cellar is not as it was in {aside}")
    if not world.place.exists():  # no cellar opens with less: there is none, and the same restore goes through
        if trial.ending == "done":
            trial.wrong.append("said to be restored, and there is no cellar")
        restore_in(world)(lambda _line: None)
    if world.holds(world.place) != (world.ids["new"], []):
        trial.wrong.append("what stands there is not the backup")
    return trial


def _bytes(path: Path) -> list[bytes]:
    both = (path, path.with_name(path.name + "-wal"))
    return [part.read_bytes() for part in both if part.exists()]


def judge_leftovers(world: World, trial: Trial) -> None:
    """Nothing half-done stays behind, unless the act was killed or the very removal failed; the backup is as it was."""
    left = [path.name for path in world.place.parent.iterdir() if ".part" in path.name or "restoring" in path.name]
    if left and trial.ending != "killed" and not trial.call.startswith("unlink"):
        trial.wrong.append(f"left behind: {left}")
    if _bytes(world.backup) != _bytes(world.template / "backup" / "backup.db"):
        trial.wrong.append("the backup was changed")
    if sorted(path.name for path in world.backup.parent.iterdir()) != ["backup.db"]:
        trial.wrong.append("something was made beside the backup")


def busy(world: World, kind: str, n: int) -> Trial:
    """Restore while another program has the book open and writes all the while."""
    world.lay_out("healthy")
    writer = Writer(world.place)
    writer.wait_for(2)
    trial = run(kind, n, world.folder, restore_in(world))
    writer.wait_for(2)  # it goes on, whatever became of the restore
    acknowledged = writer.stop()
    trial.wrong += [line for line in acknowledged if len(line) != 32]
    live, broken = world.holds(world.place)
    trial.wrong += broken
    kept = world.named(trial)
    there = live if kept is None else live | world.holds(kept)[0]
    if missing := [each for each in acknowledged if len(each) == 32 and each not in there]:
        trial.wrong.append(f"{len(missing)} acknowledged entries are in no file: {missing[:2]}, kept {kept}")
    if not world.ids["old"] <= there or not world.ids["new"] <= live:
        trial.wrong.append("entries from before are in no file")
    return trial


class Writer:
    """Another program that has the book open and writes; each id it tells has been acknowledged."""

    def __init__(self, place: Path) -> None:
        reads, writes = os.pipe()
        self.process = os.fork()
        if self.process == 0:
            os.close(reads)
            _write_on(place, writes)
        os.close(writes)
        self._pipe = os.fdopen(reads, "rb")
        self._told: list[str] = []

    def wait_for(self, count: int) -> None:
        self._told += [self._pipe.readline().decode().strip() for _ in range(count)]

    def stop(self) -> list[str]:
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        self._told += self._pipe.read().decode().splitlines()
        return [line for line in self._told if line]


def _write_on(place: Path, writes: int) -> None:
    from cooperage.book import Book
    from cooperage.book.declared import acts
    from cooperage.book.errors import CellarUnusable

    try:
        book = Book.open(str(place))
        while True:
            time.sleep(0.005)  # a lock is not handed on in turn: leave the others a chance
            try:
                done = book.write(acts.Sample(vessel="T-1", volume=10))
            except CellarUnusable as error:
                if "someone else" not in str(error):
                    raise
                continue  # refused, not acknowledged: tried again, as the line says
            os.write(writes, f"{done.id}\n".encode())
            book.cellar()
    except BaseException as error:  # noqa: BLE001 - told to the parent, which fails the trial
        os.write(writes, f"the writer: {type(error).__name__}: {error}\n".encode())
    finally:
        os._exit(0)


def main() -> None:
    """Run one scenario with kinds of fault: TEMPLATE FOLDER SCENARIO EVERY KIND ..."""
    from tests.kept_statements import statements_kept

    template, folder, scenario, every, *kinds = sys.argv[1:]
    world = World(Path(template), Path(folder))
    scenarios = {"healthy": healthy, "damaged": damaged, "busy": busy}
    with statements_kept():  # one cellar after the other is looked at, and what children compile is lost with them
        world.lay_out("healthy")
        run("kill", -1, world.folder, lambda tell: None)  # everything is imported once, before the first trial
        restore_in(world)(lambda line: None)
        world.holds(world.place)
        gc.freeze()
        for kind in kinds:
            each_fault(kind, int(every), lambda kind, n: scenarios[scenario](world, kind, n))


if __name__ == "__main__":
    main()
