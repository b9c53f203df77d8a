"""The root of every error this project raises on purpose, and the exit status each family carries.

Screens and commands catch `CooperageError` and nothing wider. The message is one line, in the user's units,
and says what to do; attributes carry the numbers.
"""

from collections.abc import Iterable
from typing import Any, ClassVar


class CooperageError(Exception):
    """Anything the person at the keyboard can put right."""

    exit_status: ClassVar[int] = 2

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
    """Possible but implausible; the same act goes through when the person says it is so."""

    def question(self, units: Any) -> str:  # noqa: ANN401, ARG002 - as `words`
        """Return what is implausible, as a question."""
        return str(self)


def did_you_mean(given: str, known: Iterable[str], otherwise: str = "") -> str:
    """Return what follows a name that is not known: "; did you mean X or Y?", or `otherwise` if nothing is near."""
    from difflib import get_close_matches  # only where something is misspelt

    names = {name.casefold(): name for name in known}
    near = [names[each] for each in get_close_matches(given.strip().casefold(), list(names), n=2, cutoff=0.6)]
    return f"; did you mean {' or '.join(near)}?" if near else otherwise
