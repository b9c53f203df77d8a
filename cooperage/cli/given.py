"""An act as a command: its arguments and options, made from its own declaration, and what was given as texts."""

import re
from collections.abc import Mapping
from typing import Any

import click

from cooperage.book import Act
from cooperage.book.declared.acts import faces, figure_of, is_about_a_vessel
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.cli.log_help import field_help
from cooperage.cli.shared.command import Command, Decorated, Option, option
from cooperage.cli.shared.complete import LOTS, ROOMS, TAG_LISTS, Completer, one_of

_COMPLETED: dict[Any, Completer] = {Holds.TAG: TAG_LISTS, Holds.LOT: LOTS, Holds.PLACE: TAG_LISTS}

but_option = option(
    "--but",
    metavar="TAG=FIGURE",
    default="",
    help="With several vessels: the figure of single ones, as 'B-003=20 L; B-005=18 L'.",
)


def parameters(kind: type[Act], *, ahead: bool = False) -> list[click.Parameter]:
    """Return the arguments and options of a kind of entry.

    The figure that each of several vessels may have its own of can be left out; and any figure of what lies `ahead`.
    """
    figure = figure_of(kind) if ahead or can_be_several(kind) else None
    return [
        _parameter(kind, declared.name, face, required=is_required(declared) and face != figure)
        for declared, face in faces(kind)
    ]


def can_be_several(kind: type[Act]) -> bool:
    """Return True if a kind can be done to several vessels, each with a figure of its own."""
    return is_about_a_vessel(kind) and not kind.one_at_a_time and figure_of(kind) is not None


def _parameter(kind: type[Act], field: str, face: FieldSpec, *, required: bool) -> click.Parameter:
    name = face.name.replace("-", "_")
    metavar, about = field_help(kind.kind, field, face)
    if face.choices and not about.endswith("."):
        about = f"{about}: {', '.join(face.choices())}."
    if not kind.one_at_a_time and field in ("vessel", kind.fills):
        about = f"{about.removesuffix('.')}; several as B-001..B-008 or 'lot HE-24'."
    completer = one_of(face.choices) if face.choices else ROOMS if name == "room" else _COMPLETED.get(face.holds)
    if face.argument:
        shown = metavar if required else f"[{metavar}]"
        return click.Argument([name], required=required, metavar=shown, help=about, shell_complete=completer)
    if face.holds is Holds.FLAG:
        return Option([f"--{face.name}", name], is_flag=True, help=about)
    names = [f"--{face.name}", f"given_{name}"]
    return Option(names, required=required, help=about, metavar=metavar, shell_complete=completer)


def several_options(kind: type[Act]) -> list[Decorated]:
    """Return the options of a kind that can be done to several vessels, each with a figure of its own."""
    return [but_option] if can_be_several(kind) else []


def may_be_several(kind: type[Act], texts: Mapping[str, str]) -> bool:
    """Return True if several vessels may be named, or a figure that goes by what each holds.

    That is decided where the cellar is known; a plain tag with a plain figure is written without all that takes.
    """
    ends = [texts[face.name] for declared, face in faces(kind) if declared.name in ("vessel", kind.fills)]
    return "/" in texts.get(kind.proposed, "") or any(_SEVERAL.search(text) or text.isalpha() for text in ends)


_SEVERAL = re.compile(r"[,\s]|\.\.")


def texts_given(kind: type[Act], given: dict[str, Any]) -> dict[str, str]:
    """Return what was given for an act's own fields, by their outside names."""
    return {face.name: _given_text(face, given) for _, face in faces(kind)}


def _given_text(face: FieldSpec, given: dict[str, Any]) -> str:
    name = face.name.replace("-", "_")
    value = given.get(name, given.get(f"given_{name}"))
    return "yes" if value is True else "" if value in (None, False) else str(value)


_BELOW_ZERO = re.compile(r"\A-(?=[.,]?[0-9])")


class ActCommand(Command):
    """A command whose values may lie below zero: "-5" is a figure, which no option is called."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words; the sign before a figure becomes one that is read as a minus and begins no option."""
        return super().parse_args(ctx, [_BELOW_ZERO.sub("−", word) for word in args])
