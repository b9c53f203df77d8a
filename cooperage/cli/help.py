"""`cooperage help`: the help of a command, for hands that type the word."""

import click

from cooperage.cli.shared.command import CommandGroup, command
from cooperage.cli.shared.desk import json_option, print_json


@command("help", "cooperage help", "cooperage help log top")
@click.argument("words", nargs=-1, metavar="[COMMAND]...", help="Command, such as `log top`.")
@json_option
@click.pass_context
def help_command(ctx: click.Context, words: tuple[str, ...], as_json: bool) -> None:
    """Show the help of a command; without one, list all commands."""
    inside = ctx.find_root()
    for word in words:
        if not isinstance(inside.command, CommandGroup):
            break
        _, found, _ = inside.command.resolve_command(inside, [word])
        if found is not None:
            inside = click.Context(found, info_name=word, parent=inside)
    text = inside.command.get_help(inside)
    if as_json:
        print_json({"command": inside.command_path, "help": text})
        return
    click.echo(text)
