"""The cautions of what is due on the rounds, and of what a sign of trouble advises."""

from collections.abc import Callable, Iterable, Mapping, Sequence

from cooperage.book import Act, Cellar
from cooperage.book.dangers.dangers import Caution, by_danger, cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.declared import acts
from cooperage.book.declared.substances import TREATMENTS
from cooperage.units import DEFAULT, Units

ONCE_A_WALK = ("keg under gas",)
"""Dangers that every other stop would repeat: shown where they first come up on a walk, so that the rare ones stand out
(common practice, no source)."""


def cautions_of_task(
    task: str, tag: str, cellar: Cellar, keg: str | None = None, units: Units = DEFAULT
) -> tuple[Caution, ...]:
    """Return what to mind at a stop of the rounds: the cautions of the act that answers it."""
    act: Act = acts.Look(vessel=tag)
    if task == "top":
        act = acts.Top(vessel=tag, volume=0, source=keg or "")
    elif task in TREATMENTS:
        act = acts.Treat(vessel=tag, treatment=task)
    return cautions(work_of(act, cellar, units))


def cautions_of_walk(
    tasks: Iterable[tuple[str, str, str | None]], cellar: Cellar, units: Units = DEFAULT
) -> list[tuple[Caution, ...]]:
    """Return the cautions of each (task, tag, keg) in walking order; what every stop would repeat, only once."""
    shown: set[str] = set()
    walk = []
    for task, tag, keg in tasks:
        found = cautions_of_task(task, tag, cellar, keg, units)
        walk.append(tuple(each for each in found if each.danger not in ONCE_A_WALK or each.text not in shown))
        shown |= {each.text for each in found}
    return walk


def why_and_caution(why: str, found: Sequence[Caution]) -> str:
    """Put what to mind behind the reason of a stop, in one line; what every stop would repeat is left out."""
    return ". ".join([why, *(each.line for each in found if each.danger not in ONCE_A_WALK)])


def _treated(treatment: str) -> Callable[[str], Act]:
    return lambda tag: acts.Treat(vessel=tag, treatment=treatment)


def _bottled(tag: str) -> Act:
    return acts.Bottle(vessel=tag, code="", bottles=0)


def cautions_of_bottling(tags: Iterable[str], cellar: Cellar, units: Units = DEFAULT) -> tuple[Caution, ...]:
    """Return what to mind as vessels are bottled, each danger once."""
    return by_danger(each for tag in tags for each in cautions(work_of(_bottled(tag), cellar, units)))


def _sulphited(tag: str) -> Act:
    return acts.Addition(vessel=tag, substance="metabisulphite", amount=0.0)


_ADVISED: Mapping[str, Callable[[str], Act]] = {
    "partial": _treated("gas cover"),
    "empty": _treated("sniff"),
    "leak": _treated("repair"),
    "sulphite": _sulphited,
    "sulphite loss": _sulphited,
    "gravity": _bottled,
    "bung": _bottled,
}
"""The act that each kind of sign leads to, or in which it would hurt; a kind that is not here leads to none."""


def cautions_of_sign(kind: str, tag: str, cellar: Cellar, units: Units = DEFAULT) -> tuple[Caution, ...]:
    """Return what to mind before a sign of this kind is acted upon."""
    advised = _ADVISED.get(kind)
    return () if advised is None else cautions(work_of(advised(tag), cellar, units))
