"""What a library prints on its own account stays out of standard output."""

import os
import threading

import pytest

from cooperage.blending.lp.silenced_stdout import silenced_stdout


def test_print_below_python_is_turned_away(capfd: pytest.CaptureFixture[str]) -> None:
    """What is written to standard output meanwhile is lost; what comes after is seen."""
    with silenced_stdout():
        os.write(1, b"noise")
    os.write(1, b"signal")
    assert capfd.readouterr().out == "signal"


def test_two_threads_give_standard_output_back(capfd: pytest.CaptureFixture[str]) -> None:
    """When solves overlap, standard output comes back after the last of them."""
    inside, done = threading.Event(), threading.Event()

    def other() -> None:
        with silenced_stdout():
            inside.set()
            done.wait(10)

    thread = threading.Thread(target=other)
    thread.start()
    inside.wait(10)
    with silenced_stdout():
        os.write(1, b"noise")
    os.write(1, b"noise")
    done.set()
    thread.join()
    os.write(1, b"signal")
    assert capfd.readouterr().out == "signal"
