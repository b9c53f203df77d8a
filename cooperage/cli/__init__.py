"""The command line: parse, call one function, print. Each command's room is imported only when it is called."""

from importlib import import_module
from typing import Any

import click

from cooperage import __version__
from cooperage.cli.shared.plain_streams import plain_output
from cooperage.machine import use_utf8_output

_ROOMS = {
    "demo": "demo",
    "import": "files",
    "export": "files",
    "copy": "files",
    "backup": "files",
    "restore": "files",
    "check": "files",
    "rounds": "look",
    "barrels": "look",
    "barrel": "look",
    "signs": "look",
    "losses": "losses",
    "trace": "look",
    "sheet": "walk.paper_sheet",
    "climate": "walk.climate",
    "forecast": "forecast",
    "log": "log",
    "retire": "log",
    "lab": "walk.lab",
    "count": "walk.count",
    "cellar": "cellar",
    "sulphite": "walk.sulphite",
    "add": "register",
    "upkeep": "walk.upkeep",
    "serve": "serve",
    "taste": "taste",
    "blend": "blend",
    "calc": "calc",
    "report": "reports",
    "label": "reports",
}


class Rooms(click.Group):
    """A group whose commands live in modules of this package, imported when they are asked for."""

    def main(self, *args: Any, **options: Any) -> Any:  # noqa: ANN401 - as click declares it
        """Run the program; what it prints may hold any letter, and passes through plain streams."""
        use_utf8_output()
        with plain_output():
            return super().main(*args, **options)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """List the commands without importing them."""
        return sorted({*_ROOMS, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """Import the room of one command."""
        room = _ROOMS.get(name)
        if room is None:
            return super().get_command(ctx, name)
        command: Any = getattr(import_module(f"cooperage.cli.{room}"), f"{name}_command")
        return command if isinstance(command, click.Command) else None

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - as click declares it
        """Run a command; whatever a person can put right becomes one line and an exit status."""
        from cooperage.cli.shared.desk import errors_explained

        with errors_explained(ctx):
            return super().invoke(ctx)


@click.group(
    cls=Rooms, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"], "color": True}
)
@click.option("--cellar", metavar="PATH-or-URL", help="The cellar to work on (else COOPERAGE_CELLAR, else your own).")
@click.version_option(__version__, prog_name="cooperage")
@click.pass_context
def main(ctx: click.Context, cellar: str | None) -> None:
    """Look after a meadery's barrels: the book, the walk, the panel, the blend.

    Without a command, opens the cellar on screen. `cooperage demo` makes a cellar to try.
    """
    ctx.obj = cellar
    if ctx.invoked_subcommand is None:
        from cooperage.cli.shared.desk import open_screen

        open_screen(ctx)
