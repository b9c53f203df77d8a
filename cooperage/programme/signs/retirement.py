"""Which barrels ask to be retired, and why. The cellar decides; this only lists what the book shows."""

from dataclasses import dataclass

from cooperage.book import Book, Cellar, Standing
from cooperage.book.dangers.dangers import Caution, cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.declared import acts
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.units import DEFAULT, Units

NEUTRAL_AFTER = 5
"""Fills after which a barrel gives next to nothing (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A barrel, the reasons for retiring it, and what to mind when it is taken out."""

    barrel: str
    fill_number: int | None
    why: list[str]
    cautions: tuple[Caution, ...] = ()


def candidates(book: Book, units: Units = DEFAULT) -> list[Candidate]:
    """List the barrels that are spent, leak, or have turned, the most reasons first; worded in `units`."""
    cellar = book.cellar()
    found = signs(book, cellar, units=units)
    listed = [
        Candidate(standing.tag, standing.fill_number, why, _cautions(standing, cellar, units))
        for standing in cellar.barrels
        if (why := _reasons(standing, [sign for sign in found if sign.vessel == standing.tag]))
    ]
    return sorted(listed, key=lambda candidate: (-len(candidate.why), candidate.barrel))


def _cautions(standing: Standing, cellar: Cellar, units: Units) -> tuple[Caution, ...]:
    return cautions(work_of(acts.Retire(vessel=standing.tag, reason=""), cellar, units))


def _reasons(standing: Standing, found: list[Sign]) -> list[str]:
    reasons = [sign.why for sign in found if sign.kind in ("leak", "va", "empty")]
    if is_neutral(standing):
        reasons.append(f"fill {standing.fill_number}: neutral wood; keep only as neutral")
    return reasons


def is_neutral(standing: Standing) -> bool:
    """Return True if the wood gives next to nothing any more; False where its fills are not known."""
    return (standing.fill_number or 0) > NEUTRAL_AFTER
