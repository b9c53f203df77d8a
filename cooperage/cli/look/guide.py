"""`cooperage guide`: the pages of the guide, one a topic."""

import sys

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, print_json, print_table
from cooperage.guide.pages import guide_page, guide_pages

MOST_COLUMNS = 100
"""Longer lines are hard to read on."""


@command("guide", "cooperage guide", "cooperage guide walk", "cooperage guide first day --json")
@click.argument("words", nargs=-1, metavar="[TOPIC]", help="The page to show; without one, all topics are listed.")
@json_option
def guide_command(words: tuple[str, ...], as_json: bool) -> None:
    """Show a page of the guide, in plain words; without a topic, list the pages."""
    if words:
        _print_page(" ".join(words), as_json=as_json)
        return
    pages = list(guide_pages())
    if as_json:
        print_json([{"topic": page.topic, "title": page.title, "about": page.about} for page in pages])
        return
    print_table(("topic", "title", "about"), [(page.topic, page.title, page.about) for page in pages])


def _print_page(topic: str, *, as_json: bool) -> None:
    page = guide_page(topic)
    if as_json:
        print_json({"topic": page.topic, "title": page.title, "about": page.about, "text": page.shown})
    elif sys.stdout.isatty():
        click.echo(_set_for_a_terminal(page.shown), nl=False)
    else:
        click.echo(page.shown, nl=False)


def _set_for_a_terminal(text: str) -> str:
    """Return a page with its paragraphs filled and its headings set apart, without a control character."""
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console(no_color=True, color_system=None)
    console.width = min(console.width, MOST_COLUMNS)
    with console.capture() as captured:
        console.print(Markdown(text))
    return captured.get()
