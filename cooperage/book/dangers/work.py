"""Work about to be done, as its dangers look at it: the kind of entry, what is used, and the vessels as they stand."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

from cooperage.book.cellar import Cellar, Standing
from cooperage.book.declared.acts import KINDS, Act, faces
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import parse_act
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS, Treatment
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Units

Drawn = tuple[Standing, int | None]
"""A vessel that is drawn from, and how much [ml]; None is all of it."""


@dataclass(frozen=True)
class Work:
    """What a person is about to do, before it is done; without a `kind`, the person stands at a vessel.

    `vessel` is worked on, `filled` is filled, `drawn` is drawn from; `treatment` and `substances` are declared
    names. `abv` are strengths [% vol] of liquids at hand that stand in no vessel, the mead's own first; `sweetens`:
    sugar is added.
    """

    kind: str = ""
    treatment: str = ""
    substances: tuple[str, ...] = ()
    vessel: Standing | None = None
    filled: Standing | None = None
    drawn: tuple[Drawn, ...] = ()
    abv: tuple[float, ...] = ()
    sweetens: bool = False
    units: Units = DEFAULT

    @property
    def act(self) -> type[Act] | None:
        """The kind of entry as it is declared; None for a person who only stands at a vessel."""
        return KINDS.get(self.kind)

    @property
    def treated(self) -> Treatment | None:
        """The treatment as it is declared; None without one."""
        return TREATMENTS.get(self.treatment)

    @property
    def stays_closed(self) -> bool:
        """True where no vessel is opened."""
        return self.act is not None and self.act.stays_closed

    @cached_property
    def touched(self) -> list[Standing]:
        """Every vessel it touches, once."""
        every = [self.vessel, self.filled, *(standing for standing, _ in self.drawn)]
        return list({standing.tag: standing for standing in every if standing is not None}.values())

    @property
    def left_empty(self) -> list[Standing]:
        """The barrels that it draws to the last of what they hold."""
        return [s for s, ml in self.drawn if s.vessel.is_barrel and s.ml and (ml is None or ml >= s.ml)]

    @property
    def left_partly_full(self) -> list[Standing]:
        """The barrels that it leaves with air above the mead."""
        return [s for s, ml in self.drawn if s.vessel.is_barrel and ml is not None and 0 < ml < s.ml]


def before_vessel(standing: Standing, units: Units = DEFAULT) -> Work:
    """Return the work of a person who only stands at a vessel: reads its card, looks at its page."""
    return Work(vessel=standing, units=units)


def work_of(act: Act, cellar: Cellar, units: Units = DEFAULT) -> Work:
    """Return the work that an act is, with the vessels as they stand in `cellar`; an unknown tag is passed over."""
    values = {declared.name: getattr(act, declared.name) for declared in fields(act)}
    return _work(act.kind, values, cellar, units)


def work_of_draft(kind: str, texts: Mapping[str, str], cellar: Cellar, units: Units = DEFAULT) -> Work:
    """Return the work that a form half filled in comes to; what cannot be read yet is left out."""
    try:
        return work_of(parse_act(kind, texts, cellar.at, units), cellar, units)
    except BadInput:
        named = {
            declared.name: texts[face.name].strip()
            for declared, face in faces(KINDS[kind])
            if face.holds in (Holds.TAG, Holds.PLACE, Holds.CHOICE) and texts.get(face.name, "").strip()
        }
        return _work(kind, named, cellar, units)


def _work(kind: str, values: Mapping[str, Any], cellar: Cellar, units: Units) -> Work:
    vessel, filled = (_standing(values, name, cellar) for name in ("vessel", KINDS[kind].fills))
    doses = tuple(name for name, _ in values.get("doses", ()))
    substances = (*([values["substance"]] if values.get("substance") in SUBSTANCES else []), *doses)
    return Work(
        kind,
        values.get("treatment", ""),
        substances,
        vessel,
        filled,
        tuple(_drawn(kind, values, vessel, cellar)),
        sweetens=any(SUBSTANCES[name].sugar_g_l for name in substances if name in SUBSTANCES),
        units=units,
    )


def _standing(values: Mapping[str, Any], name: str, cellar: Cellar) -> Standing | None:
    tag = str(values.get(name) or "")
    if tag not in cellar:
        return None
    return cellar[tag]


def _drawn(kind: str, values: Mapping[str, Any], vessel: Standing | None, cellar: Cellar) -> list[Drawn]:
    named = KINDS[kind].draws_on
    if named == "draws":
        return [(cellar[tag], ml) for tag, ml in values.get(named, ()) if tag in cellar]
    source = _standing(values, named, cellar)
    if source is None:
        return []
    if named == "vessel":
        return [(source, _out_of(values))]
    room = vessel.headspace_ml if vessel is not None else 0
    return [(source, values.get("volume") or room)]


def _out_of(values: Mapping[str, Any]) -> int | None:
    """Return what a racking or a bottling takes out [ml]; None for all of it."""
    ml = values.get("volume") or values.get("bottles", 0) * values.get("bottle", 0)
    if values.get("empties") or not ml:
        return None
    return int(ml) + int(values.get("lees", 0)) + int(values.get("loss", 0))
