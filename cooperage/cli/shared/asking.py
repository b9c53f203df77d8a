"""Arguments and options of a command from what is declared to be asked, and what was typed as texts of a form."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.cli.shared.command import Option, WordChoice
from cooperage.cli.shared.complete import ROOMS
from cooperage.errors import BadInput

if TYPE_CHECKING:
    from cooperage.programme.upkeep.asking import Asked

Completes = Callable[..., Any]


def asking(
    asked: "Sequence[Asked]", arguments: int = 1, completes: Mapping[str, Completes] | None = None
) -> Callable[[click.Command], click.Command]:
    """Give a command an argument for each of the first things asked, and an option for each other.

    `completes` has how a shell completes some, by field.
    """
    known = {"room": ROOMS, **(completes or {})}

    def add(command: click.Command) -> click.Command:
        command.params[:0] = [
            _parameter(each, is_argument=place < arguments, complete=known.get(each.field))
            for place, each in enumerate(asked)
        ]
        return command

    return add


def _parameter(asked: "Asked", *, is_argument: bool, complete: Completes | None) -> click.Parameter:
    if is_argument:
        return click.Argument([asked.field], metavar=asked.metavar, help=asked.about, shell_complete=complete)
    if asked.holds is Holds.FLAG:
        return Option([f"--{asked.name}", asked.field], is_flag=True, help=asked.about)
    return Option(
        [f"--{asked.name}", asked.field],
        type=WordChoice(asked.choices) if asked.choices else None,
        required=asked.needed,
        multiple=asked.several,
        default="barrel" if asked.name == "kind" else None,
        show_default=asked.name == "kind",
        metavar=asked.metavar,
        help=asked.about,
        shell_complete=complete,
    )


def texts_of(asked: "Sequence[Asked]", given: Mapping[str, Any]) -> dict[str, str]:
    """Return what was typed by outside name: what may be repeated with semicolons between."""
    values = {each.name: _text(given[each.field]) for each in asked}
    return {name: text for name, text in values.items() if text}


def _text(value: Any) -> str:  # noqa: ANN401 - what click hands over
    if isinstance(value, tuple):
        return "; ".join(value)
    return "yes" if value is True else value or ""


class BadOption(BadInput):
    """A value of an option that cannot be; it is named as it is spelt."""

    def __init__(self, asked: "Sequence[Asked]", error: BadField, arguments: int = 1) -> None:
        spelt = {each.name: each.metavar for each in asked[:arguments]}
        super().__init__(f"{spelt.get(error.field, f'--{error.field}')}: {error.reason}")
