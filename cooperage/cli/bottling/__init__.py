"""`cooperage bottling`: what is looked at before the first bottle. Parse, call one function, print."""

import click

from cooperage.cli.bottling.risks import risks_command
from cooperage.cli.shared.command import CommandGroup


@click.group(
    "bottling",
    cls=CommandGroup,
    examples=("cooperage bottling risks T-1 --sizes 750ml",),
)
def bottling_command() -> None:
    """Show the risks of a bottling before the first bottle, and record why they are passed."""


bottling_command.add_command(risks_command)
