"""`cooperage completion`: the script by which a shell completes commands, options, tags and codes."""

import click
from click.shell_completion import BashComplete, ShellComplete, get_completion_class

from cooperage.cli.shared.command import WordChoice, command
from cooperage.cli.shared.desk import json_option, print_json

INSTALLED_BY = {
    "bash": 'eval "$(cooperage completion bash)"   # put this line into ~/.bashrc',
    "zsh": 'eval "$(cooperage completion zsh)"   # put this line into ~/.zshrc, after compinit',
    "fish": "cooperage completion fish > ~/.config/fish/completions/cooperage.fish",
}


@command("completion", "cooperage completion bash", "cooperage completion fish --json")
@click.argument("shell", type=WordChoice(INSTALLED_BY), metavar="SHELL", help="Your shell: bash, zsh or fish.")
@json_option
@click.pass_context
def completion_command(ctx: click.Context, shell: str, as_json: bool) -> None:
    """Print the script that completes commands, tags and codes with Tab; its first line shows how to install it.

    Bash: put  eval "$(cooperage completion bash)"  into ~/.bashrc.
    """
    script = _script(ctx.find_root().command, shell)
    if as_json:
        print_json({"shell": shell, "install": INSTALLED_BY[shell], "script": script})
        return
    click.echo(f"# install: {INSTALLED_BY[shell]}")
    click.echo(script)


def _script(root: click.Command, shell: str) -> str:
    kind = get_completion_class(shell)
    if kind is None:
        raise click.UsageError(f"this version of click completes nothing in {shell}")
    made = kind(root, {}, "cooperage", "_COOPERAGE_COMPLETE")
    # click asks bash for its version before it prints the script; here nothing is run
    return ShellComplete.source(made) if isinstance(made, BashComplete) else made.source()
