"""A solve in a process of its own: the same answers and errors as here, stopped for good, gone with its program."""

import os
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest

from cooperage.blending import alternatives, solve
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.own_process import OwnProcess, SolverEnded, Stopped

PATIENCE_S = 20.0


@pytest.fixture(scope="module")
def kept() -> Iterator[OwnProcess]:
    """Return one process for all tests that do not end it."""
    process = OwnProcess()
    yield process
    process.close()


@pytest.fixture
def apart() -> Iterator[OwnProcess]:
    """Return a process of the test's own."""
    process = OwnProcess()
    yield process
    process.close()


def is_there(pid: int) -> bool:
    """Tell whether a process runs; one that has ended and waits to be asked after does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def gone(pid: int) -> bool:
    """Wait for a process to end."""
    for _ in range(int(PATIENCE_S / 0.05)):
        if not is_there(pid):
            return True
        time.sleep(0.05)
    return False


@pytest.mark.slow
def test_answers_are_those_of_a_solve_here(kept: OwnProcess, cellar: pd.DataFrame) -> None:
    """Answers, and tuples of them, come back as equal values."""
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 13}}}
    assert kept.run(solve, cellar, brief) == solve(cellar, brief)
    assert kept.run(alternatives, cellar, brief, 2, 0.5) == alternatives(cellar, brief, 2, 0.5)


def test_an_impossible_brief_comes_back_with_its_reasons(kept: OwnProcess, cellar: pd.DataFrame) -> None:
    """Clash, nearest blend and notes are there."""
    brief = {"litres": 100, "limits": {"abv": {"min": 17}}, "draws": {"never": ["rich"]}}
    assert kept.run(solve, cellar, brief) == solve(cellar, brief)


def test_errors_are_raised_as_they_were(kept: OwnProcess, cellar: pd.DataFrame) -> None:
    """Class, words and what the error carries; the process goes on."""
    before = kept.pid
    with pytest.raises(BadBrief, match=r"the pool has no figure 'abw'.*did you mean abv") as raised:
        kept.run(solve, cellar, {"litres": 100, "limits": {"abw": {"min": 12}}})
    assert raised.value.key == "limits.abw"
    assert kept.run(len, [1, 2]) == 2
    assert kept.pid == before


@pytest.mark.slow
def test_what_is_stopped_is_dead_and_the_next_run_is_answered(apart: OwnProcess) -> None:
    """A call that never ends is killed; whoever waits for it is told, and another process takes over."""
    first = apart.begin(time.sleep, 10_000)
    pid = apart.pid
    assert pid is not None
    result: list[Stopped] = []

    def wait() -> None:
        try:
            first.result()
        except Stopped as error:
            result.append(error)

    waiting = threading.Thread(target=wait)
    waiting.start()
    assert apart.stop() is True
    waiting.join(PATIENCE_S)
    assert len(result) == 1
    assert not is_there(pid)
    assert apart.run(len, [1, 2, 3]) == 3
    assert apart.stop() is False


def test_a_newer_run_takes_the_place_of_an_older(apart: OwnProcess) -> None:
    """The older one is stopped, also when nobody has begun to wait for it."""
    older = apart.begin(time.sleep, 10_000)
    pid = apart.pid
    assert pid is not None
    assert apart.run(len, [1]) == 1
    assert not is_there(pid)
    with pytest.raises(Stopped):
        older.result()


@pytest.mark.slow
def test_a_process_that_dies_is_one_clear_error(apart: OwnProcess) -> None:
    """Its exit status is told, and the next run is answered by another one."""
    with pytest.raises(SolverEnded, match=r"ended before its answer was there \(exit status 7\); solve again"):
        apart.run(os._exit, 7)
    assert apart.run(len, [1]) == 1


@pytest.mark.slow
def test_a_fault_over_there_prints_nothing(apart: OwnProcess, capfd: pytest.CaptureFixture[str]) -> None:
    """Neither a traceback nor what is printed over there reaches the terminal or the answers."""
    assert apart.run(print, "noise") is None
    assert apart.run(os.write, 1, b"noise from below Python") == 23
    with pytest.raises(SolverEnded):
        apart.run(int, "no number")
    assert capfd.readouterr() == ("", "")


def test_no_program_to_start_is_one_clear_error(apart: OwnProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where Python cannot be started the error says so."""
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with pytest.raises(SolverEnded, match=r"could not be started \(no such file or directory\)"):
        apart.warm()


@pytest.mark.slow
def test_it_ends_with_the_program_it_belongs_to() -> None:
    """Also in the midst of work, and when the program is killed."""
    program = """
        import os, threading, time
        from cooperage.blending.own_process import OwnProcess
        apart = OwnProcess()
        apart.run(len, [1])
        threading.Thread(target=apart.begin(time.sleep, 10_000).result, daemon=True).start()
        time.sleep(0.2)
        print(apart.pid, flush=True)
        os.kill(os.getpid(), 9)
    """
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(program)], capture_output=True, text=True, check=False)
    assert gone(int(done.stdout))
