"""How a command is declared: with examples that run, and options whose old spellings go on working.

A word that is misspelt is answered with the nearest one that there is, at every level.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from typing import Any

import click

from cooperage.errors import choose_from, did_you_mean

AS_JSON = "cooperage.as_json"
"""The key of a call's own notes under which it is kept that errors are to be JSON too."""


def note_json(ctx: click.Context, words: Sequence[str]) -> None:
    """Remember whether the words of a call ask for JSON, so that errors are JSON too."""
    before_dashes = words[: words.index("--")] if "--" in words else words
    ctx.find_root().meta[AS_JSON] = "--json" in before_dashes


class Option(click.Option):
    """An option; spellings in `formerly` are understood but not shown, for scripts written when they were."""

    def __init__(self, param_decls: Sequence[str], *, formerly: Sequence[str] = (), **given: Any) -> None:  # noqa: ANN401 - what click takes
        super().__init__([*param_decls, *formerly], **given)
        self.formerly = tuple(formerly)

    @property
    def shown(self) -> list[str]:
        """The spellings that help and messages show."""
        return [name for name in self.opts if name not in self.formerly]

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """Return the line of help, without the old spellings."""
        visible = copy(self)
        visible.opts = self.shown
        return super(Option, visible).get_help_record(ctx)


class WordChoice(click.Choice[str]):
    """One of some words, in any case; a misspelt one is answered with the nearest."""

    def __init__(self, choices: Iterable[str]) -> None:
        super().__init__(list(choices), case_sensitive=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ANN401 - as click declares it
        """Return the word that is meant."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            names = [str(choice) for choice in self.choices]
            hint = choose_from(str(value), names)
            self.fail(f"there is no '{value}'{hint}", param, ctx)


class _WithExamples(click.Command):
    """What a command and a group share: the examples at the end of their help."""

    examples: tuple[str, ...] = ()

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples, each on a line that can be copied whole."""
        super().format_epilog(ctx, formatter)
        if self.examples:
            with formatter.section("Examples"):
                for line in self.examples:
                    formatter.write(f"{'':>{formatter.current_indent}}{line}\n")


class Command(_WithExamples):
    """A command with examples; each is a line of a shell that runs on the demo cellar."""

    def __init__(self, *given: Any, examples: Sequence[str] = (), **named: Any) -> None:  # noqa: ANN401 - what click takes
        super().__init__(*given, **named)
        self.examples = tuple(examples)


class CommandGroup(_WithExamples, click.Group):
    """A group of commands; `aliases` are other names that are understood."""

    command_class = Command

    def __init__(
        self,
        *given: Any,  # noqa: ANN401 - what click takes
        examples: Sequence[str] = (),
        aliases: Mapping[str, str] | None = None,
        **named: Any,  # noqa: ANN401 - what click takes
    ) -> None:
        super().__init__(*given, **named)
        self.examples = tuple(examples)
        self.aliases = dict(aliases or {})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Find a command by its name or another that is understood."""
        return super().get_command(ctx, self.aliases.get(cmd_name, cmd_name))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that is called; a misspelt one is answered with the nearest."""
        name = args[0]
        if not name.startswith("-") and not ctx.resilient_parsing and self.get_command(ctx, name) is None:
            known = [*self.list_commands(ctx), *self.aliases]
            hint = did_you_mean(name, known, f"; `{ctx.command_path} --help` lists them")
            raise click.UsageError(f"there is no command '{name}'{hint}", ctx)
        return super().resolve_command(ctx, args)


Decorated = Callable[[Callable[..., Any]], Any]


def command(name: str, *examples: str, **named: Any) -> Decorated:  # noqa: ANN401 - what click takes
    """Declare a command with its examples."""
    return click.command(name, cls=Command, examples=examples, **named)


def option(*names: str, **named: Any) -> Decorated:  # noqa: ANN401 - what click takes
    """Declare an option; see Option for `formerly`."""
    return click.option(*names, cls=Option, **named)


def usage_words(error: click.UsageError) -> str:
    """Return in one line what is wrong with a call, and where its help is."""
    path = error.ctx.command_path if error.ctx else "cooperage"
    see = f"; `{path} --help` shows how"
    if isinstance(error, click.NoSuchOption) and error.option_name[1:2].isdigit():
        return f"{error.option_name} is below 0, and scores and amounts go from 0{see}"
    if isinstance(error, click.NoSuchOption):
        return f"there is no option {error.option_name}{did_you_mean(error.option_name, _options_of(error), see)}"
    if isinstance(error, click.MissingParameter):
        return f"{_name_of(error)} is missing{see}"
    if isinstance(error, click.BadParameter):
        return f"{_name_of(error)}: {_sentence(error.message)}"
    if isinstance(error, click.BadOptionUsage):
        return f"{error.option_name}: {_sentence(error.message)}{see}"
    return _sentence(error.message) + ("" if "`" in error.message or "did you mean" in error.message else see)


def _options_of(error: click.UsageError) -> list[str]:
    parameters = error.ctx.command.get_params(error.ctx) if error.ctx else []
    shown = (each.shown if isinstance(each, Option) else each.opts for each in parameters)
    return [name for names in shown for name in names if name.startswith("-")]


def _name_of(error: click.BadParameter) -> str:
    parameter = error.param
    if isinstance(parameter, Option):
        return parameter.shown[0]
    if isinstance(parameter, click.Option):
        return parameter.opts[0]
    return parameter.human_readable_name.strip("[]") if parameter is not None else "a value"


def _sentence(message: str) -> str:
    """Return a message of click as part of a line: begun small, without its full stop."""
    text = " ".join(message.split()).removesuffix(".")
    return text[:1].lower() + text[1:] if text[1:2].islower() else text
