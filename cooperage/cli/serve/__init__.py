"""`cooperage serve`: the terminal UI in a browser, for a tablet in the cellar."""

import click

from cooperage.cli.serve.names import served
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import cellar_place, json_option, open_book, print_json
from cooperage.errors import BadInput


class NoServer(BadInput):
    """The extra that serves the screen to a browser is not installed."""

    def __init__(self) -> None:
        super().__init__("serving needs one more package; in this folder: .venv/bin/pip install -e '.[serve]'")


@command("serve", "cooperage serve --host 0.0.0.0 --host-name cellar-pc   # runs until Ctrl+C")
@option(
    "--host",
    metavar="ADDRESS",
    default="localhost",
    show_default=True,
    help="Address to listen at; 0.0.0.0 for every network.",
)
@option(
    "--port",
    type=click.IntRange(1, 65535),
    metavar="NUMBER",
    default=8000,
    show_default=True,
    help="Port to listen at.",
)
@option(
    "--host-name",
    "names",
    metavar="NAME",
    formerly=("--name",),
    multiple=True,
    help="Another name or address people open it under (repeatable).",
)
@json_option
@click.pass_context
def serve_command(ctx: click.Context, host: str, port: int, names: tuple[str, ...], as_json: bool) -> None:
    """Show the cellar's screen in a browser.

    Prints the address to open. It ends in a key that is new each time: whoever has it can read and write the book.
    The line is not encrypted, so listen only on a network you trust. With --json each line that is printed is an
    object with its text.
    """
    where = served(host, port, names)
    open_book(ctx).close()  # a cellar that cannot be opened is refused here, not in the browser
    try:
        from cooperage.cli.serve.front import Front
    except ModuleNotFoundError as error:
        raise NoServer from error
    Front(cellar_place(ctx), where, _print_line_json if as_json else click.echo).serve()


def _print_line_json(line: str) -> None:
    print_json({"text": line})
