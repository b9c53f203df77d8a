"""The root of every error this project raises on purpose, and the exit status each family carries.

Screens and commands catch `CooperageError` and nothing wider. The message is one line, in the user's units,
with what to do; attributes carry the numbers.
"""

from collections.abc import Iterable
from typing import Any, ClassVar


class CooperageError(Exception):
    """Anything the person at the keyboard can put right."""

    exit_status: ClassVar[int] = 2
    has_lines: ClassVar[bool] = False
    """Whether its words are several lines, each of them plain: a list of what is wrong."""

    def words(self, units: Any) -> str:  # noqa: ANN401, ARG002 - this leaf may not know cooperage.units
        """Return the message for a person; families that hold quantities put them into `units`."""
        return str(self)


class BadInput(CooperageError):
    """What was typed or handed in cannot be understood."""

    exit_status: ClassVar[int] = 2


class OutOfRange(BadInput, ValueError):
    """A figure lies outside the range for which a formula is known."""


class Refused(CooperageError):
    """Understood, but against a rule of the book; nothing was changed."""

    exit_status: ClassVar[int] = 1


class AskedBack(Refused):
    """Possible but implausible; the same act goes through when the person confirms it."""

    def question(self, units: Any) -> str:  # noqa: ANN401, ARG002 - as `words`
        """Return what is implausible, as a question."""
        return str(self)


_LEAST_ALIKE, _NEARLY_AS_ALIKE, _MOST_NAMED = 0.6, 0.1, 3  # shares of letters in common (common practice, no source)


def most_alike(typed: str, names: Iterable[str], least: float) -> tuple[float, str]:
    """Return the name that is most like what was typed, and its share of letters in common; (0, "") below `least`."""
    from difflib import SequenceMatcher, get_close_matches  # only where something is misspelt

    near = get_close_matches(typed, list(names), n=1, cutoff=least)
    return (SequenceMatcher(None, near[0], typed).ratio(), near[0]) if near else (0.0, "")


def did_you_mean(given: str, known: Iterable[str], otherwise: str = "") -> str:
    """Return what follows a name that is not known: "; did you mean X or Y?", or `otherwise` if nothing is near.

    The nearest name is given, and others that are nearly as near.
    """
    from difflib import SequenceMatcher, get_close_matches  # only where something is misspelt

    names, typed = {name.casefold(): name for name in known}, given.strip().casefold()
    near = get_close_matches(typed, list(names), n=_MOST_NAMED, cutoff=_LEAST_ALIKE)
    alike = [SequenceMatcher(None, name, typed).ratio() for name in near]
    named = [names[name] for name, each in zip(near, alike, strict=True) if each >= alike[0] - _NEARLY_AS_ALIKE]
    return f"; did you mean {' or '.join(named)}?" if named else otherwise


def choose_from(given: str, choices: Iterable[str]) -> str:
    """Return what follows a word that is none of some `choices`: the nearest, or all of them."""
    choices = list(choices)
    return did_you_mean(given, choices, f"; choose from {', '.join(choices)}")
