"""Every command that the README shows is run, in its order, on the demo with the files it names beside it."""

import shutil
from pathlib import Path

import pytest
from sybil import Document, Example
from sybil.parsers.markdown import CodeBlockParser

from tests.shell import run_line

README = Path(__file__).parents[2] / "README.md"
FILES = {
    "logger.csv": "when,temperature,humidity\n2026-11-01 12:00,11.5,74\n",
    "slip.txt": "B-041 free 12 pH 3.30\n",
    "count.csv": "vessel,volume\nB-041,109.0 L\n",
    "brief.toml": 'litres = 400\nobjective = ["least_cost"]\n[limits]\nabv = { min = 12.0 }\n',
    "stocks.csv": "stock,litres,abv,sugar_g_l,cost_per_l\nheather,900,11.8,30,6.8\nbuckwheat,700,13.2,140,5.4\n",
}


class Shell(CodeBlockParser):
    """The fences of shell commands; what is no command of the program is left alone."""

    language = "sh"

    def __init__(self) -> None:
        super().__init__()
        self.ran: list[str] = []

    def evaluate(self, example: Example) -> str | None:
        """Run each command of the program."""
        for line in str(example.parsed).splitlines():
            call = line.partition("  #")[0].strip()
            if call.startswith("cooperage "):
                run_line(call)
                self.ran.append(call)
        return None


@pytest.mark.slow
def test_every_command_of_the_readme_runs(that_morning: Path) -> None:
    """Each ends as commands do that were understood and done."""
    for name, text in FILES.items():
        (that_morning / name).write_text(text, encoding="utf-8")
    shutil.copytree(that_morning / "demo_cellar", that_morning / "my_folder")
    shell = Shell()
    for example in Document.parse(str(README), shell).examples():
        example.evaluate()
    assert len(shell.ran) > 30
