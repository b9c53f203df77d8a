"""The units that a person has chosen to type and read in."""

from dataclasses import dataclass, fields

from cooperage.errors import BadInput, choose_from
from cooperage.units.scales import CHOICES, SCALES, Quantity, Unit


class UnknownChoice(BadInput):
    """A unit or a decimal mark that cannot be chosen."""

    def __init__(self, key: str, chosen: object) -> None:
        self.key, self.chosen, self.choices = key, chosen, CHOICES[key]
        super().__init__(f"{key} cannot be '{chosen}'{choose_from(str(chosen), self.choices)}")


@dataclass(frozen=True, slots=True)
class Units:
    """The units in which a person types and reads; `CHOICES` lists what each may be, in capitals or not.

    Raises: UnknownChoice.
    """

    volume: str = "L"
    gravity: str = "sg"
    temperature: str = "c"
    decimal: str = "."

    def __post_init__(self) -> None:
        for field in fields(self):
            chosen = getattr(self, field.name)
            meant = [choice for choice in CHOICES[field.name] if choice.casefold() == str(chosen).casefold()]
            if not meant:
                raise UnknownChoice(field.name, chosen)
            object.__setattr__(self, field.name, meant[0])  # "l" for L, "F" for f

    def usual(self, quantity: Quantity) -> Unit:
        """Return the unit in which a bare number of this quantity is meant and shown."""
        scale = SCALES[quantity]
        chosen = getattr(self, quantity.value, scale.units[0].name)
        return next(unit for unit in scale.units if unit.name == chosen)


DEFAULT = Units()
