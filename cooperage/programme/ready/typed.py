"""A definition of ready as it is typed into a form: its fields read, each refused at its place."""

from collections.abc import Mapping
from typing import NamedTuple

from cooperage.book import Book
from cooperage.book.declared.from_text import BadField
from cooperage.book.errors import NoSuchLot
from cooperage.errors import BadInput
from cooperage.programme.ready.definitions import (
    CHANCE,
    RISK,
    Definition,
    check_chances,
    define_limits,
    own_definition,
    withdraw,
)
from cooperage.programme.ready.limits import HOW_TYPED, ReadyLimit, limits_words, parse_limits
from cooperage.units import DEFAULT, Quantity, Units, read, show


class TypedDefinition(NamedTuple):
    """What is typed, read: limits (none withdraws it), the lot's code (None is the cellar), shares from 0 to 1.

    `standing` is the definition that stands for that lot alone, or for the cellar; None where there is none.
    """

    limits: tuple[ReadyLimit, ...]
    lot: str | None
    chance: float
    risk: float
    standing: Definition | None

    @property
    def changes(self) -> bool:
        """True if it is not what stands."""
        now = self.standing
        return now is None or (now.limits, now.chance, now.risk) != (self.limits, self.chance, self.risk)


def definition_texts(book: Book, units: Units = DEFAULT) -> dict[str, str]:
    """Return the cellar's definition as texts for the fields; blank limits where there is none."""
    now = own_definition(book, None)[1]
    limits, chance, risk = ((), CHANCE, RISK) if now is None else (now.limits, now.chance, now.risk)
    shares = {"chance": _per_cent(chance, units), "risk": _per_cent(risk, units)}
    return {"lot": "", "limits": limits_words(limits, units, exact=True)} | shares


def typed_definition(book: Book, texts: Mapping[str, str], units: Units = DEFAULT) -> TypedDefinition:
    """Read the fields lot, limits, chance and risk; a blank share is the usual one. Raises BadField."""
    lot, limits = texts.get("lot", "").strip(), texts.get("limits", "").strip()
    try:
        code, standing = own_definition(book, lot or None)
    except NoSuchLot as error:
        raise BadField("lot", error.words(units)) from error
    if not limits and standing is None:
        raise BadField("limits", f"write what ready means, as in: {HOW_TYPED}")
    try:
        parsed = parse_limits(limits, units) if limits else ()
    except BadInput as error:
        raise BadField("limits", error.words(units)) from error
    chance, risk = (_share(name, texts, usual, units) for name, usual in (("chance", CHANCE), ("risk", RISK)))
    return TypedDefinition(parsed, code, chance, risk, standing)


def definition_words(typed: TypedDefinition, units: Units = DEFAULT) -> str:
    """Return what writing it does: "defines ready for lot HE-24: overall at least 14; chance 50 %, risk 20 %"."""
    whose = "the cellar" if typed.lot is None else f"lot {typed.lot}"
    if not typed.limits:
        assert typed.standing is not None
        return f"withdraws what is ready for {whose}: {typed.standing.words(units)}"
    chance, risk = (_per_cent(share, units) for share in (typed.chance, typed.risk))
    return f"defines ready for {whose}: {limits_words(typed.limits, units)}; chance {chance}, risk {risk}"


def write_typed(book: Book, typed: TypedDefinition, *, hand: str = "", sure: bool = False) -> Definition:
    """Write it, or withdraw what stands; what stands already is not written again. Raises what `define` raises."""
    if typed.standing is not None and not typed.changes:
        return typed.standing
    if not typed.limits:
        return withdraw(book, lot=typed.lot, hand=hand)
    return define_limits(book, typed.limits, lot=typed.lot, chance=typed.chance, risk=typed.risk, hand=hand, sure=sure)


def _share(name: str, texts: Mapping[str, str], usual: float, units: Units) -> float:
    text = texts.get(name, "").strip()
    if not text:
        return usual
    try:
        share = float(read(Quantity.PERCENT, text, units)) / 100
        check_chances(**{"chance": CHANCE, "risk": RISK, name: share})
    except BadInput as error:
        raise BadField(name, error.words(units)) from error
    return share


def _per_cent(share: float, units: Units) -> str:
    return show(Quantity.PERCENT, 100 * share, units, digits=0)
