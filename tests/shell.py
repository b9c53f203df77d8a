"""A line of a shell run in this process, as help and guide show them: a pipe from echo or printf, commands and `&&`."""

import shlex
from dataclasses import dataclass

from click.testing import CliRunner

from cooperage.cli import main

ENDINGS = {"refused": (1, 2), "exit status 3": (3,)}
"""What a line says of its own ending, after three spaces and a #."""


@dataclass(frozen=True, slots=True)
class Ran:
    """One command of a line: how it was called, its exit status, what stands on the terminal, and standard output."""

    call: str
    status: int
    output: str
    stdout: str


def run_line(line: str) -> list[Ran]:
    """Run each command of a line; one that does not end as the line says fails the test."""
    line, _, remark = line.partition("   #")
    expected = next((statuses for words, statuses in ENDINGS.items() if words in remark), (0,))
    ran = []
    for call in line.split("&&"):
        source, pipe, called = call.rpartition("|")
        piped = None
        if pipe:
            words = shlex.split(source)
            piped = words[1].replace("\\n", "\n") + ("\n" if words[0] == "echo" else "")
        done = CliRunner().invoke(main, shlex.split(called)[1:], input=piped)
        assert done.exit_code in expected, (call, done.exit_code, done.output, done.exception)
        assert "Traceback" not in done.output
        ran.append(Ran(called.strip(), done.exit_code, done.output, done.stdout))
    return ran
