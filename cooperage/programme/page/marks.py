"""What stands wrong and what is due at one vessel, in a word each: the marks at the head of its page."""

from collections.abc import Sequence
from dataclasses import dataclass

from cooperage.book import Book, Cellar, Standing
from cooperage.book.declared.verdicts import QUARANTINE
from cooperage.programme.ahead.outlook import Outlook, outlook_of
from cooperage.programme.compared.brief import trial_lines_of
from cooperage.programme.page.figures import FigureState, page_figures
from cooperage.programme.page.past import Past, past_of
from cooperage.programme.ready.readiness import Readiness, readiness
from cooperage.programme.rounds.due import Due
from cooperage.programme.signs.all_signs import signs_at
from cooperage.programme.signs.sign import Sign
from cooperage.programme.signs.words import OVER_ACIDITY
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.wood.words import wood_line
from cooperage.units import DEFAULT, Units

_OF_FIGURE = {"va_g_l": OVER_ACIDITY}


@dataclass(frozen=True, slots=True)
class VesselPage:
    """All that is read and calculated of one vessel for its page: its past, what comes, what is wrong with it.

    `ready` is how it stands to its definition of ready; None where the cellar has none.
    """

    tag: str
    past: Past
    outlook: Outlook
    signs: tuple[Sign, ...]
    wood: str = ""
    """What is left in its wood and what to do with it, or what was written off, in one line; "" if it is no barrel."""
    ready: Readiness | None = None
    trials: tuple[str, ...] = ()
    """A line for each trial across barrels that it is in, without its treatment while a flight of that is blind."""


def page_of(book: Book, cellar: Cellar, tag: str, units: Units = DEFAULT) -> VesselPage:
    """Read and calculate the page of one vessel; raises NoSuchVessel."""
    standing = cellar[tag]
    outlook = outlook_of(book, cellar, tag, units)
    found = () if standing.is_retired else signs_at(standing, cellar, outlook.rates.get(tag), units)
    left, ready = wood_line(book, cellar, tag, units), readiness(book, cellar).get(tag)
    trials = tuple(trial_lines_of(book, standing.tag)) if standing.vessel.is_barrel else ()
    return VesselPage(tag, past_of(book, standing), outlook, tuple(found), left, ready, trials)


def trouble_words(standing: Standing, signs: Sequence[Sign], units: Units = DEFAULT) -> list[str]:
    """Return what is wrong with a vessel in a word or two each, each once."""
    of_signs = [sign.word for sign in signs if sign.is_trouble]
    rows = page_figures(standing, None, units)
    of_figures = [_OF_FIGURE[row.name] for row in rows if row.state is FigureState.TROUBLE and row.name in _OF_FIGURE]
    return list(dict.fromkeys([*[QUARANTINE] * standing.is_quarantined, *of_signs, *of_figures]))


def due_words(coming: Sequence[Due]) -> list[str]:
    """Return what is due, each task as a hand calls it."""
    return [TASK_WORDS[due.task] for due in coming if due.overdue_days > 0]
