"""`cooperage serve`: the terminal UI in a browser, for a tablet in the cellar."""

import shlex
import sys

import click

from cooperage.cli.desk import cellar_place, open_book
from cooperage.errors import BadInput


class NoServer(BadInput):
    """The extra that serves the screen to a browser is not installed."""

    def __init__(self) -> None:
        super().__init__("serving needs one more package: pip install 'cooperage[serve]'")


@click.command("serve")
@click.option("--host", default="localhost", show_default=True, help="Whoever reaches this address can write the book.")
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True)
@click.pass_context
def serve_command(ctx: click.Context, host: str, port: int) -> None:
    """Show the cellar's screen in a browser."""
    open_book(ctx).close()  # a cellar that cannot be opened is told here, not in the browser
    try:
        from textual_serve.server import Server
    except ModuleNotFoundError as error:
        raise NoServer from error
    words = [sys.executable, "-c", "from cooperage.cli import main; main()", "--cellar", cellar_place(ctx)]
    Server(shlex.join(words), host=host, port=port, title="Cooperage").serve()
