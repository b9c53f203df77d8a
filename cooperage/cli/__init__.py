"""The command line: parse, call one function, print. Each command's room is imported only when it is called."""

from importlib import import_module
from typing import Any

import click

from cooperage import __version__
from cooperage.cli.shared.plain_streams import plain_output
from cooperage.machine import use_utf8_output

_ROOMS = {
    "demo": (
        "demo",
        "Open the demo cellar, an invented meadery with two years behind it; build it if it is not there yet.",
    ),
    "import": ("files", "Bring in a folder of CSV files, one CSV file, or a workbook: all of it, or nothing."),
    "export": (
        "files",
        "Write the whole book as a folder of CSV files, or as a workbook (PATH.xlsx); import reads back either.",
    ),
    "copy": ("files", "Copy the cellar, row for row, into another database, and check it there."),
    "backup": (
        "files",
        "Copy the cellar file, while it may be in use, to a new file (else one with today's date in this folder).",
    ),
    "restore": ("files", "Put a backup in the place of the cellar, after checking that it is whole."),
    "check": ("files", "Hold the book against its laws."),
    "rounds": ("look", "Tell what is due, in walking order."),
    "barrels": ("look", "List the barrels (or tanks, kegs) in walking order with what they hold."),
    "barrel": ("look", "Tell everything about one vessel."),
    "signs": (
        "look",
        "Tell what somebody should look at: leaks, low sulphite, climbing acidity, odd dips, forgotten empties.",
    ),
    "losses": ("losses", "Tell where litres were lost, and hold what barrels drank against what they usually drink."),
    "trace": ("look", "Trace a bottling back to its lots and barrels, or a lot on to its bottlings."),
    "sheet": (
        "walk.paper_sheet",
        "Write a walk that was noted on paper, one line a stop, such as 'B-017 1.8 weeping; hoop rusty'.",
    ),
    "climate": (
        "walk.climate",
        "Tell what air the rooms have, or write a logger's FILE (or -): columns when, temperature, "
        "humidity, perhaps room.",
    ),
    "forecast": (
        "forecast",
        "Reckon barrels ahead, left alone until then: volume, headspace, strength and sugar, and the next topping.",
    ),
    "log": ("log", "Write what was done into the book."),
    "retire": ("log", "Retire a vessel, or, without a tag, tell which barrels ask for it and why."),
    "lab": (
        "walk.lab",
        "Write lab results: lines such as 'B-017 free 24 pH 3.41', or a table whose header names vessel "
        "and properties.",
    ),
    "count": (
        "walk.count",
        "Hold counted volumes against the book: lines such as 'B-017 224.1 l', or a table with vessel and volume.",
    ),
    "cellar": (
        "cellar",
        "Tell the facts of the cellar, or set one: its name, loss allowance, class lines, usual climate.",
    ),
    "sulphite": (
        "walk.sulphite",
        "Tell each lot's free and molecular SO2, and the metabisulphite every barrel would take.",
    ),
    "add": ("register", "Register a vessel or a lot."),
    "upkeep": ("walk.upkeep", "Tell, or change, the care vessels get: intervals (in days) and limits."),
    "serve": ("serve", "Show the cellar's screen in a browser."),
    "taste": ("taste", "Pour blind flights, write scores, reveal them."),
    "blend": ("blend", "Compose a blend from the stocks at hand."),
    "calc": ("calc", "Reckon a strength, a sweetness, a dose, a level."),
    "report": ("reports", "Print a report."),
    "label": (
        "reports",
        "Print a card for a vessel, a lot or a bottling, with a QR code that a scanner types as its tag.",
    ),
}
"""Each command: the module it lives in, and its line in `cooperage --help` (a test holds it to its own help)."""


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
        if name not in _ROOMS:
            return super().get_command(ctx, name)
        room, _ = _ROOMS[name]
        command: Any = getattr(import_module(f"cooperage.cli.{room}"), f"{name}_command")
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands with a line of help each, from the table above: no room is imported for it."""
        listed = click.Group(commands=[click.Command(name, help=line) for name, (_, line) in _ROOMS.items()])
        listed.format_commands(ctx, formatter)

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
