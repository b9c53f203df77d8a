"""`cooperage bottling`: the risks before the first bottle, and the run. Parse, call one function, print."""

import click

from cooperage.cli.bottling.risks import risks_command
from cooperage.cli.bottling.run import (
    LINES,
    check_command,
    close_command,
    list_command,
    open_command,
    show_command,
    strike_command,
)
from cooperage.cli.shared.command import CommandGroup


@click.group(
    "bottling",
    cls=CommandGroup,
    examples=("cooperage bottling risks T-1 --sizes 750ml", "cooperage bottling list"),
)
def bottling_command() -> None:
    """Show the risks of a bottling, open a run once they are settled or passed, count and close it."""


for _command in (
    *(risks_command, open_command, *LINES),
    *(check_command, strike_command, show_command, list_command, close_command),
):
    bottling_command.add_command(_command)
