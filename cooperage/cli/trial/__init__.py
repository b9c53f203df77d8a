"""`cooperage trial`: blends tried on the bench by design, from the plan to the brief of the best one.

Each file hands on its commands as `COMMANDS`; a new file is a line in `_FILES`. Start with `plan`.
"""

from importlib import import_module

from cooperage.cli.shared.command import CommandGroup

_FILES = (
    "plan",
    "bench",
    "results",
    "barrels",
)

trial_command = CommandGroup(
    "trial",
    help="Compare blends on the bench by a designed trial, and find the best one.",
    commands=[each for file in _FILES for each in import_module(f"cooperage.cli.trial.{file}").COMMANDS],
    examples=("cooperage trial plan B-003 B-004 B-006",),
)
