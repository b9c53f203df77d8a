"""A vessel's care as people type it: every interval and limit of an upkeep declared once, for the form and the command.

A blank, or the word `default`, lets the cellar's default stand.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from cooperage.book import Book, Cellar, Standing, Upkeep
from cooperage.book.declared.allowed import rules_of
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.book.errors import NotPossible, SameVessel
from cooperage.errors import BadInput
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, read, show, show_exact

TOPPING = {
    "interval": "every so many days",
    "level": "when its calculated level is low",
    "opened": "only when it is opened anyway",
    "never": "never",
}
"""When a barrel is topped, as text."""
_RULES = rules_of(Upkeep)
_DEFAULT = ("", "default")


@dataclass(frozen=True, slots=True)
class Care:
    """One interval or limit: the upkeep's field, its name outside, its label, what it holds and what it can be.

    A `count` is what a whole number counts, such as days.
    """

    field: str
    name: str
    label: str
    holds: Quantity | Holds
    choices: tuple[str, ...] = ()
    count: str = ""

    @property
    def possible(self) -> tuple[float, float]:
        """The least and the most it can be, in the canonical unit, as the upkeep itself declares it."""
        return _RULES[self.field].between or (0.0, 0.0)


CARES: tuple[Care, ...] = (
    Care("topping", "topping", "topping policy", Holds.CHOICE, tuple(TOPPING)),
    Care("top_every_days", "every", "top every", Quantity.COUNT, count="days"),
    Care("top_below_ml", "below", "counts as low when short by", Quantity.VOLUME),
    Care("taste_every_days", "taste-every", "taste every", Quantity.COUNT, count="days"),
    Care("sulphite_every_days", "sulphite-every", "read sulphite every", Quantity.COUNT, count="days"),
    Care("sniff_every_days", "sniff-every", "sniff when empty every", Quantity.COUNT, count="days"),
    Care("molecular_so2_floor_mg_l", "molecular-floor", "molecular SO2 floor", Quantity.SULPHITE),
    Care("va_ceiling_g_l", "va-ceiling", "volatile acid ceiling", Quantity.ACID),
    Care("top_from", "from", "top from", Holds.TAG),
)
"""Every field of an upkeep, in the order a form asks for them."""


def parse_care(texts: Mapping[str, str], units: Units = DEFAULT) -> dict[str, Any]:
    """Return an upkeep's fields from texts by outside name, None for the default; raises BadField."""
    return {care.field: _parse_field(care, texts[care.name], units) for care in CARES if care.name in texts}


def _parse_field(care: Care, text: str, units: Units) -> Any:  # noqa: ANN401 - as many types as fields
    word = text.strip()
    if word.lower() in _DEFAULT:
        return None
    try:
        return _value(care, word, units)
    except BadInput as error:
        raise BadField(care.name, error.words(units)) from error


def _value(care: Care, word: str, units: Units) -> Any:  # noqa: ANN401 - as many types as fields
    if isinstance(care.holds, Quantity):
        value = read(care.holds, word, units)
        if not care.possible[0] <= value <= care.possible[1]:
            raise NotPossible(care.label, *(_shown(care, each, units) for each in (value, *care.possible)))
        return value
    if care.choices and word.lower() not in care.choices:
        raise BadInput(f"'{word}' is not one of {', '.join(care.choices)}")
    return word.lower() if care.choices else word


def _shown(care: Care, value: float, units: Units) -> str:
    if care.holds in (Quantity.VOLUME, Quantity.COUNT):
        value = round(value)
    return show(Quantity(care.holds), value, units)


def care_texts(upkeep: Upkeep, units: Units = DEFAULT) -> dict[str, str]:
    """Return an upkeep as texts that `parse_care` understands, by outside name; what is not given is blank."""
    return {care.name: _text(care, getattr(upkeep, care.field), units) for care in CARES}


def _text(care: Care, value: Any, units: Units) -> str:  # noqa: ANN401 - as many types as fields
    if value is None:
        return ""
    if care.holds is Quantity.VOLUME:
        return show_exact(value, units)
    return f"{value:g}".replace(".", units.decimal) if isinstance(value, float) else str(value)


def default_care(standing: Standing) -> Upkeep:
    """Return the care a vessel gets where nothing is said."""
    return upkeep_of(Standing(replace(standing.vessel, upkeep=Upkeep()), standing.state, standing.at, {}))


def care_of(book: Book, tags: Sequence[str]) -> dict[str, Upkeep]:
    """Return the care in force of vessels, by tag; raises NoSuchVessel."""
    cellar = book.cellar()
    return {cellar[tag].tag: upkeep_of(cellar[tag]) for tag in tags}


def change_care(book: Book, tags: Iterable[str], changes: Mapping[str, Any]) -> list[str]:
    """Change fields of several vessels' upkeep, of all or of none; what is not named stays.

    Returns the tags. Raises NoSuchVessel, for the keg too, and SameVessel.
    """
    changed = []
    with book.writing() as session:
        values = dict(changes)
        if values.get("top_from") is not None:
            values["top_from"] = session.registry.vessel(values["top_from"]).tag
        for tag in tags:
            vessel = session.registry.vessel(tag)
            if values.get("top_from") == vessel.tag:
                raise SameVessel(vessel.tag)
            session.set_upkeep(vessel.tag, replace(vessel.upkeep, **values))
            changed.append(vessel.tag)
    return changed


@dataclass(frozen=True, slots=True)
class Group:
    """Barrels that have something in common: a room, the lot they mostly hold, or a wood; None asks for nothing."""

    room: str | None = None
    lot: str | None = None
    wood: str | None = None

    def tags(self, cellar: Cellar) -> list[str]:
        """Return the tags of those barrels in walking order; raises NoBarrelMeant."""
        found = [standing.tag for standing in cellar.barrels if self._has(standing)]
        if not found:
            raise NoBarrelMeant(self)
        return found

    def _has(self, standing: Standing) -> bool:
        wanted = (self.room, self.lot, self.wood)
        return all(
            asked is None or asked.casefold() == is_.casefold()
            for asked, is_ in zip(wanted, _common(standing), strict=True)
        )


def _common(standing: Standing) -> tuple[str, str, str]:
    barrel = standing.vessel.barrel
    return standing.position[0] or "", next(iter(standing.lots), ""), (barrel.wood if barrel else None) or ""


class NoBarrelMeant(BadInput):
    """A group in which there is no barrel."""

    def __init__(self, group: Group) -> None:
        self.group = group
        asked = ", ".join(f"{what} {name}" for what, name in asdict(group).items() if name is not None)
        super().__init__(f"no barrel has {asked}; `cooperage barrels` lists them")


def groups_around(standing: Standing) -> dict[str, Group]:
    """Return the groups a barrel belongs to, by what its barrels have in common."""
    groups = zip(("room", "lot", "wood"), _common(standing), strict=True)
    return {f"{what} {name}": Group(**{what: name}) for what, name in groups if name and standing.vessel.is_barrel}
