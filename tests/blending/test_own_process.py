"""A solve in a process of its own: the same answers and errors as here, stopped for good, gone with its program."""

import os
import select
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pandas as pd
import pytest

from cooperage.blending import alternatives, solve
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.own_process import OwnProcess, SolverEnded, Stopped


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


@contextmanager
def watched(pid: int) -> Iterator[Callable[[], None]]:
    """Yield a wait for the end of a process, whoever its parent is; taken hold of before, so that no other is meant."""
    hold = os.pidfd_open(pid)
    try:
        yield lambda: select.select([hold], [], []) and None
    finally:
        os.close(hold)


def has_ended(pid: int) -> bool:
    """Say whether a process of ours has ended and was asked after: its number is free."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
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
    waiting.join()
    assert len(result) == 1
    assert has_ended(pid)
    assert apart.run(len, [1, 2, 3]) == 3
    assert apart.stop() is False


def test_a_newer_run_takes_the_place_of_an_older(apart: OwnProcess) -> None:
    """The older one is stopped, also when nobody has begun to wait for it."""
    older = apart.begin(time.sleep, 10_000)
    pid = apart.pid
    assert pid is not None
    assert apart.run(len, [1]) == 1
    assert has_ended(pid)
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
def test_it_ends_with_the_program_it_belongs_to(tmp_path: Path) -> None:
    """Also in the midst of work, and when the program is killed."""
    work = tmp_path / "work"
    os.mkfifo(work)
    program = f"""
        import pathlib
        from cooperage.blending.own_process import OwnProcess
        apart = OwnProcess()
        apart.run(len, [1])
        print(apart.pid, flush=True)
        apart.run(pathlib.Path.read_text, pathlib.Path({str(work)!r}))
    """
    words = [sys.executable, "-c", textwrap.dedent(program)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as owner:
        assert owner.stdout is not None
        with watched(int(owner.stdout.readline())) as ends, work.open("w"):  # opens when it is read: the work has begun
            owner.kill()
            ends()
