"""The command line: parse, call one function, print. Each command's room is imported only when it is called."""

import atexit
import gc
from functools import cache
from importlib import import_module
from typing import Any

import click

from cooperage import __version__
from cooperage.cli.shared.command import CommandGroup, note_json, option
from cooperage.cli.shared.plain_streams import plain_output
from cooperage.machine import use_utf8_output

_ROOMS = {
    "demo": (
        "demo",
        "Open the demo cellar, an invented meadery with two years of history; build it if it is not there yet.",
    ),
    "import": ("files", "Import a folder of CSV files, one CSV file, or a workbook: all of it, or nothing."),
    "export": (
        "files",
        "Write the whole book as a folder of CSV files, or as a workbook (PATH.xlsx); import reads either.",
    ),
    "copy": ("files", "Copy the cellar, row for row, into another database, and check it there."),
    "backup": (
        "files",
        "Write a backup of the cellar file, which may be in use meanwhile, to a new file, and check it.",
    ),
    "restore": ("files", "Restore a backup over the cellar, after checking it."),
    "check": (
        "files",
        "Check the book: volumes balance, no vessel over- or underfilled. Exit status 1 where something is wrong.",
    ),
    "rounds": ("look.rounds", "Show what is due, in walking order: topping, gauging, sampling, sniffing."),
    "barrels": ("look.barrels", "List the barrels (or tanks, kegs) in walking order with what they hold."),
    "barrel": (
        "look.barrel",
        "Show everything about one vessel: contents, figures and their age, what is due, its history.",
    ),
    "today": (
        "look.today",
        "Show the day at a glance: what is wrong, the orders, the walk by room, what to carry, the last entry.",
    ),
    "ready": (
        "look.ready",
        "Show when each barrel is ready by the cellar's own definition, and when to look at it next.",
    ),
    "find": ("look.find", "Find vessels, lots, bottlings, flights, and entries by the words of their notes."),
    "signs": ("look.signs", "Show warnings: leaks, low sulphite, climbing acidity, odd dips, forgotten empties."),
    "losses": ("losses", "Show where mead was lost, and compare what barrels lost with their usual loss."),
    "bottles": (
        "look.bottles",
        "Show the stock of bottles by bottling, size and store, and what became of the others.",
    ),
    "trace": ("look.trace", "Trace a bottling back to its lots and barrels, or a lot forward to its bottlings."),
    "lot": ("lots.lot", "Show all of a lot, write its batch sheet, or the honey it is made of."),
    "lots": ("lots.lots", "List the lots, how far each has come, and what is left of it."),
    "sheet": (
        "walk.paper_sheet",
        "Import rounds that were noted on paper, one line a stop, such as 'B-017 1.8; so2 24; weeping; hoop rusty'.",
    ),
    "climate": ("walk.climate", "Show the climate of the rooms, or import a logger's FILE."),
    "forecast": (
        "forecast",
        "Forecast barrels, if untouched, to a date: volume, headspace, strength, sugar, and the next topping.",
    ),
    "log": ("log", "Record in the book what was done."),
    "order": ("orders.order", "Write down what is to be done, to be checked and printed beforehand."),
    "orders": (
        "orders.orders",
        "List the open orders in sequence, each checked against the cellar as those before it would leave it.",
    ),
    "retire": ("log", "Retire a vessel; without a tag, list the barrels worth retiring and why."),
    "wood": (
        "look.wood",
        "Show the wood left in each barrel, what it costs, and what to do with it, the most pressing first.",
    ),
    "value": (
        "money.value",
        "Show what everything in the cellar has cost: mead, bottles, and what is left of the barrels' price.",
    ),
    "cost": (
        "money.value",
        "Show what a vessel's mead, a lot or a bottling has cost, in its parts, per litre and per bottle.",
    ),
    "angels": (
        "money.value",
        "Show what the angels cost this year: what wood and air took, and what that mead had cost until then.",
    ),
    "prices": (
        "money.prices",
        "Show or write down prices: of substances, bottles, closures, labels and an hour of work.",
    ),
    "lab": (
        "walk.lab",
        "Import lab results: lines such as 'B-017 free 24 pH 3.41', or a table headed by vessel and properties.",
    ),
    "count": (
        "walk.count",
        "Compare counted volumes with the book: lines such as 'B-017 224.1 L', or a table with vessel and volume.",
    ),
    "cellar": (
        "cellar",
        "Show the settings of the cellar, or change one: name, loss allowance, class lines, usual climate.",
    ),
    "bottling": (
        "bottling",
        "Show the risks of a bottling, open a run once they are settled or passed, count and close it.",
    ),
    "rules": (
        "rules.commands",
        "Show what the law asks, with sources and dates, and record the cellar's own values: US, EU, UK.",
    ),
    "sulphite": (
        "walk.sulphite",
        "Show each lot's free and molecular SO2, and the metabisulphite each barrel would take.",
    ),
    "add": ("register", "Register vessels or a lot."),
    "upkeep": (
        "walk.upkeep",
        "Show or change the topping and check schedule of vessels: intervals in days, and limits.",
    ),
    "serve": ("serve", "Show the cellar's screen in a browser."),
    "taste": ("taste", "Pour blind flights, record scores, reveal them."),
    "blend": ("blend", "Compose a blend from the stocks at hand."),
    "trial": ("trial", "Compare blends on the bench by a designed trial, and find the best one."),
    "period": (
        "period.period",
        "Show and close periods: what came in, went out and is there, by class of strength. A preparation aid, not a "
        "return: check with your authority.",
    ),
    "calc": ("calc", "Calculate a strength, sweetness, dose or level."),
    "report": ("reports", "Print a report."),
    "label": ("reports", "Print a card for a vessel, lot or bottling, with a QR code that a scanner types as its tag."),
    "completion": (
        "completion",
        "Print the script that completes commands, tags and codes with Tab; its first line shows how to install it.",
    ),
    "guide": ("look.guide", "Show a page of the guide, in plain words; without a topic, list the pages."),
    "help": ("help", "Show the help of a command; without one, list all commands."),
}
"""Each command: the module it lives in, and its line in `cooperage --help` (a test holds it to its own help)."""


_SWEPT_AFTER = 50_000
"""New objects after which the garbage collector looks for cycles in a command."""


@cache
def _sweep_seldom() -> None:
    """Keep the garbage collector from walking what a start makes, modules and rows, which stays to the end.

    To walk it every 700 new objects, as Python does by itself, was a twelfth of a start, and once more on the way out
    an eighth of it; next to nothing was freed.
    """
    gc.set_threshold(_SWEPT_AFTER, *gc.get_threshold()[1:])
    atexit.register(gc.freeze)


class Rooms(CommandGroup):
    """A group whose commands live in modules of this package, imported when they are asked for."""

    def main(self, *args: Any, **options: Any) -> Any:  # noqa: ANN401 - as click declares it
        """Run the program; what it prints may hold any letter, and passes through plain streams."""
        _sweep_seldom()
        use_utf8_output()
        with plain_output():
            return super().main(*args, **options)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """List the commands without importing them."""
        return sorted({*_ROOMS, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as click declares it
        """Import the room of one command."""
        name = self.aliases.get(cmd_name, cmd_name)
        if name not in _ROOMS:
            return None
        room, _ = _ROOMS[name]
        command: Any = getattr(import_module(f"cooperage.cli.{room}"), f"{name}_command")
        return command if isinstance(command, click.Command) else None

    def make_context(
        self,
        info_name: str | None,
        args: list[str],
        parent: click.Context | None = None,
        **extra: Any,  # noqa: ANN401 - as click declares it
    ) -> click.Context:
        """Read the options before the command; what is wrong with them becomes one line too."""
        words = list(args)
        try:
            ctx = super().make_context(info_name, args, parent, **extra)
        except click.UsageError:
            from cooperage.cli.shared.desk import errors_explained

            outside = click.Context(self, info_name=info_name)
            note_json(outside, words)
            with errors_explained(outside):
                raise
        note_json(ctx, words)
        return ctx

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
    "cooperage",
    cls=Rooms,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "color": True},
    aliases={"sulfite": "sulphite"},
    examples=("cooperage demo", "cooperage rounds", "cooperage log top B-001 1.4l --from K-01"),
)
@option("--cellar", metavar="PATH-or-URL", help="The cellar to work on (else COOPERAGE_CELLAR, else your own).")
@click.version_option(__version__, prog_name="cooperage", help="Show the version and exit.")
@click.pass_context
def main(ctx: click.Context, cellar: str | None) -> None:
    """Look after a meadery's barrels: the book, the walk, the panel, the blend.

    Without a command, opens the cellar on screen. `cooperage demo` makes a cellar to try.
    """
    ctx.obj = cellar
    if ctx.invoked_subcommand is None:
        from cooperage.cli.shared.desk import open_screen

        open_screen(ctx)
